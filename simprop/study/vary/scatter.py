"""Builds of a rig: draws of how far each thing is off, and the rig as one was built."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from typing import Any

import numpy as np

from simprop.catalog.friction import Surfaces
from simprop.drives.supplies import SupplySpec
from simprop.geometry.arrays import Array
from simprop.reading.fields import Point
from simprop.reading.inside import altered, moved, put
from simprop.reading.text import as_path
from simprop.rig.load import as_written, made_whole
from simprop.rig.model import Rig, Source
from simprop.study.types import Variant
from simprop.study.vary.holes import Drilled, drilled
from simprop.study.vary.within import DRIVEN, FED, Within, off_fault

SPREAD = 1000
"""Up to so many builds are spread as evenly as can be, which takes some 5 s; more tell as well without."""


def draws(
    rig: Rig, withins: Sequence[Within], n: int, seed: int, sets: tuple[tuple[str, str], ...] = ()
) -> Iterator[Variant]:
    """Builds of a rig: each thing is anywhere within its limits, all places alike (evenly, by a Latin hypercube).

    The hypercube puts one build into each n-th part of the range of each thing (McKay, Beckman, Conover 1979, from
    memory) and spreads them over all of it, so that few builds tell mean and spread well: of a sum of 14 things 64
    builds tell the spread within 2 %, where plain draws leave 9 %. The same seed gives the same builds, also of rigs
    that differ in what isn't scattered.

    Args:
        rig: as read by `load_rig`.
        withins: of `withins_of`.
        n: how many.
        seed: of the draw.
        sets: values set over the rig's, handed on to each variant.
    """
    sizes = {key: within.size for within in withins for key in within.keys}
    if not sizes:
        yield from (Variant(sets) for _ in range(n))
        return
    for row in _evenly(len(sizes), n, seed):
        yield Variant(
            sets, tuple((key, float(v) * size) for (key, size), v in zip(sizes.items(), row, strict=True))
        )


@lru_cache(maxsize=8)
def _evenly(things: int, n: int, seed: int) -> Array:
    """Places between -1 and 1 of each thing in each build, (n, things)."""
    from scipy.stats.qmc import LatinHypercube  # slow to import, and only wanted here

    spread = "random-cd" if 1 < n <= SPREAD else None
    return np.asarray(2.0 * LatinHypercube(things, rng=seed, optimization=spread).random(n) - 1.0)


def scattered(rig: Rig, scatter: Sequence[tuple[str, float]]) -> Rig:
    """The rig as one was built.

    Args:
        rig: as read by `load_rig`.
        scatter: by how much things are off, as in `Variant.scatter`: metres for keys that end in x, y or z, else a
            share.

    Raises:
        RigError: for a thing that isn't in this rig, and where a rig can't be so.

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Pendulum
        ... bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: 300 0 0 mm}]}}
        ... joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
        ... run: {for: 1 s}
        ... ''')
        >>> scattered(rig, [("joints.hook.at.z", 0.001)]).joints["hook"].on("bob").z
        0.001
    """
    return built(rig.source, scatter)


def built(source: Source, scatter: Sequence[tuple[str, float]]) -> Rig:
    """The same of a text that is read already; see `scattered`.

    Raises:
        RigError: as `scattered`.
    """
    named = {key.removeprefix("params."): off for key, off in scatter if key.startswith("params.")}
    own = replace(source, sets=_with_params(source, named)) if named else source
    drawn = as_written(own)
    shifts: dict[str, list[float]] = {}
    pieces: dict[tuple[str, str], dict[str, float]] = {}
    fed: list[tuple[str, str, float]] = []
    for key, off in scatter:
        place, _, last = key.rpartition(".")
        section, _, name = place.partition(".")
        if section == "params":
            continue
        if last in ("x", "y", "z"):
            shifts.setdefault(place, [0.0, 0.0, 0.0])["xyz".index(last)] += off
        elif (
            section in DRIVEN
            and name in getattr(drawn, section)
            and last in getattr(drawn, section)[name].figures.varied
        ):
            pieces.setdefault((section, name), {})[last] = off
        elif last in FED and (section == "supplies" or place.endswith(".supply")):
            fed.append((place, last, off))
        else:
            drawn = _scaled(drawn, key, off)
    rig = made_whole(_shifted(drawn, shifts))
    return _powered(_fed(rig, fed), pieces)


def _with_params(source: Source, named: Mapping[str, float]) -> dict[str, str]:
    """Values set in which some named ones are off by a share; what is worked out from them follows."""
    raw = source.document.data.get("params") or {}
    sets = dict(source.sets)
    for name, off in named.items():
        text = sets.pop(name, sets.pop(f"params.{name}", raw.get(name)))
        sets[f"params.{name}"] = f"({text}) * {1.0 + off!r}"
    return sets


def _scaled(rig: Rig, key: str, off: float) -> Rig:
    """The rig with one value another share of itself."""
    section, *rest = as_path(key)

    def change(value: Any) -> Any:
        if isinstance(value, Surfaces):
            return replace(value, static=(1.0 + off) * value.static, kinetic=(1.0 + off) * value.kinetic)
        return (1.0 + off) * value

    try:
        return _copied(rig, str(section), put(getattr(rig, str(section)), tuple(rest), change))
    except (KeyError, AttributeError, TypeError):
        raise off_fault(key, "nothing of that name can be off in this rig") from None


def _copied(rig: Rig, section: str, value: Any) -> Rig:
    copy: Rig = rig.model_copy(update={section: value})
    return copy


def _shifted(rig: Rig, shifts: Mapping[str, Sequence[float]]) -> Rig:
    """The rig with places off, m each."""
    if not shifts:
        return rig
    by_name: dict[str, Any] = {}
    groups = {key: g for g in drilled(rig) for key in g.keys}
    for place, shift in shifts.items():
        group = groups.get(place, Drilled(place, (place,), ()))
        by_name |= {key: group.shift(*shift) for key in group.keys}
    named = {key.removeprefix("points."): s for key, s in by_name.items() if key.startswith("points.")}

    def change(point: Point) -> Point:
        off = named.get(point.name or "")
        return point if off is None else _beside(point, off)

    rig = rig.model_copy(
        update={n: moved(getattr(rig, n), change) for n in type(rig).model_fields if n != "params"}
    )
    for key, off in by_name.items():
        if not key.startswith("points."):
            section, *rest = as_path(key)
            own = put(getattr(rig, str(section)), tuple(rest), partial(_beside, off=off))
            rig = _copied(rig, str(section), own)
    return rig


def _beside(point: Point, off: Array) -> Point:
    x, y, z = (np.array(point[:3]) + off).tolist()
    return Point(x, y, z, point.name)


def _fed(rig: Rig, fed: Sequence[tuple[str, str, float]]) -> Rig:
    """The rig with supplies off by shares."""
    for place, key, off in fed:
        section, name, *_ = place.split(".")

        def other(supply: SupplySpec | None, key: str = key, off: float = off) -> SupplySpec | None:
            value = None if supply is None else getattr(supply, key)
            return (
                supply if supply is None or value is None else altered(supply, **{key: (1.0 + off) * value})
            )

        if section == "supplies":
            rig = _copied(rig, section, {**rig.supplies, name: other(rig.supplies[name])})
        for users in DRIVEN:
            drives = {
                n: altered(d, supply=other(d.supply))
                if (users, n) == (section, name)
                or (section == "supplies" and d.supply and d.supply.shared == name)
                else d
                for n, d in getattr(rig, users).items()
            }
            rig = _copied(rig, users, drives)
    return rig


def _powered(rig: Rig, pieces: Mapping[tuple[str, str], Mapping[str, float]]) -> Rig:
    """The rig with other pieces of its motors and pushers."""
    for (section, name), off in pieces.items():
        drives = getattr(rig, section)
        drive = drives[name]
        rig = _copied(rig, section, {**drives, name: altered(drive, motor=drive.figures.piece(off))})
    return rig
