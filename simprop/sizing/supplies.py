"""Supplies of a run: what they gave, whether they held a motor back, and the supply, fuse and wire that
do."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite, nan

import numpy as np

from simprop.catalog.motors import supplies as usual_supplies
from simprop.drives.supplies import SupplySpec
from simprop.geometry.arrays import Array
from simprop.laws import supply as law
from simprop.loads.driving import DriveRows
from simprop.sizing.work import NEAR_LIMIT

SPARE = 1.25
"""A supply is chosen for so much more than the largest running current (common practice)."""
DROP = 0.05
"""Share of the voltage that the wire may take at the running current (3 to 5 % is common practice)."""
HOLDS_BACK = 0.02
"""A supply holds a motor back when it limits it for more than this share of the time it is on."""

SLOWED, MOSTLY = 0.9, 0.5
"""A supply that limits its drives to less than this share of their speed, for more than that of their time, holds them
back even where it carries them."""


@dataclass(frozen=True)
class SupplyUse:
    """One supply over the run.

    Attributes:
        name: of `supplies`, or of the motor it belongs to alone.
        spec: as in the rig; None where none is stated.
        users: drives on it.
        peak: largest current, A.
        mean: A.
        rms: A.
        limited: share of the time on at which it gave all it can, 0 to 1.
        needed: largest current that its drives ask for to carry what the prop asked, at full speed and
            without run-up, A.
        starting: current at which all its drives that start together stand still, A.
        smallest: voltage and limit of the smallest usual supply that does; None where none of the
            catalogue does.
        fuse: A; None where no fuse carries the load and protects the wire.
        drop: voltage lost in the wire at the largest running current, V; 0 without a stated wire.
        pace: speed of its drives over that from a supply without limit, 0 to 1; 1 where it doesn't limit.
        steady: current that its fuse must carry, the larger of the RMS and of the mean while something is on, A.
    """

    name: str
    spec: SupplySpec | None
    users: tuple[str, ...]
    peak: float
    mean: float
    rms: float
    limited: float
    needed: float
    starting: float
    smallest: tuple[float, float] | None
    fuse: float | None
    drop: float
    pace: float = 1.0
    steady: float = nan

    @property
    def holds_back(self) -> bool:
        """True if the supply, not a motor, is why the prop is slow: it can't carry it, or hardly gets it going."""
        limit = inf if self.spec is None or self.spec.limit is None else self.spec.limit
        slow = self.limited > MOSTLY and self.pace < SLOWED
        return slow or (self.limited > HOLDS_BACK and self.needed > NEAR_LIMIT * limit)


def drawn(drive: DriveRows) -> Array:
    """Current that a drive takes from its supply, (n,) A: its own, times its share where it is pulsed."""
    return np.asarray(drive.current * drive.share, dtype=np.float64)


def needed(drive: DriveRows) -> float:
    """Largest current that a drive takes to carry what the prop asked of it, without run-up, A; NaN if not
    known."""
    if drive.line is None:
        return float(drive.current.max()) if np.isfinite(drive.current).all() else nan
    line = drive.line
    on = drive.running
    if not on.any():
        return 0.0
    carried = drive.load[on] / line.torque_constant + line.friction_current
    return float((carried * drive.share[on]).max())


def supply_use(
    drives: tuple[DriveRows, ...], free: tuple[DriveRows, ...] | None = None
) -> tuple[SupplyUse, ...]:
    """Every supply of a run.

    Args:
        drives: of `simprop.loads.driving.driven`.
        free: the same drives of the same prop from supplies without limit. What a prop asks for can't be
            read from a run in which the supply kept it from moving.
    """
    groups: dict[str, list[DriveRows]] = {}
    for drive in drives:
        spec = drive.spec.supply
        if not np.isfinite(drive.current).any() or (spec is not None and spec.frequency is not None):
            continue
        groups.setdefault(spec.shared if spec is not None and spec.shared else drive.name, []).append(drive)
    by_name = {d.name: d for d in free or ()}
    return tuple(_use(name, group, [by_name.get(d.name, d) for d in group]) for name, group in groups.items())


def limited(drives: tuple[DriveRows, ...]) -> bool:
    """True if some supply gave all it could for more than a moment."""
    return any(use.limited > HOLDS_BACK for use in supply_use(drives))


def _use(name: str, group: list[DriveRows], free: list[DriveRows]) -> SupplyUse:
    spec = group[0].spec.supply
    total = np.sum([np.nan_to_num(drawn(d)) for d in group], axis=0)
    on = np.any([d.on > 0 for d in group], axis=0)
    limit = inf if spec is None or spec.limit is None else spec.limit
    at_limit = on & (total >= NEAR_LIMIT * limit)
    asked = float(np.nansum([needed(d) for d in free]))
    volts = group[0].source.voltage
    starting = float(np.nansum([volts / d.line.resistance if d.line else needed(d) for d in group]))
    rms = float(np.sqrt(np.mean(total**2)))
    wire = None if spec is None else spec.wire
    steady = max(rms, float(total[on].mean()) if on.any() else 0.0)
    return SupplyUse(
        name,
        spec,
        tuple(d.name for d in group),
        float(total.max()),
        float(total.mean()),
        rms,
        float(at_limit.sum() / max(1, on.sum())),
        asked,
        starting,
        _smallest(volts, asked),
        law.fuse(steady, None if wire is None else wire.gauge),
        0.0 if wire is None else wire.resistance * asked,
        min(1.0, _pace(group) / _pace(free)) if _pace(free) > 0 else 1.0,
        steady,
    )


def _pace(group: list[DriveRows]) -> float:
    """Mean speed of drives while they are on, added up."""
    return float(sum(np.abs(d.speed[d.on > 0]).mean() for d in group if (d.on > 0).any()))


def _smallest(volts: float, asked: float) -> tuple[float, float] | None:
    if not isfinite(volts):
        return None
    for row in usual_supplies(volts):
        if row.limit >= SPARE * asked:
            return row.voltage, row.limit
    return None


def verdict(use: SupplyUse) -> str:
    """One sentence: the supply is why, or it isn't, and which does.

    Example:
        >>> spec = SupplySpec(voltage="12 V", limit="2 A")
        >>> weak = SupplyUse("drive", spec, ("drive",), 2.0, 1.9, 1.9, 0.6, 3.4, 15.0, (12.0, 5.0), 3.0, 0.0)
        >>> verdict(weak)[:45]
        'the supply, not the motor, limits it: at 2 A '
    """
    smallest = "no usual supply does"
    if use.smallest is not None:
        smallest = f"{use.smallest[0]:g} V {use.smallest[1]:g} A"
    if use.holds_back and use.spec is not None and use.spec.limit is not None:
        clears = f"{smallest} clears it" if use.smallest is not None else smallest
        slow = f", {100 * (1 - use.pace):.0f} % slower" if use.pace < 0.995 else ""
        return (
            f"the supply, not the motor, limits it: at {use.spec.limit:g} A for {100 * use.limited:.0f} % of the "
            f"time{slow}; {use.needed:.2g} A needed; {clears}"
        )
    if use.spec is not None and use.spec.limit is not None:
        if use.spec.limit < SPARE * use.needed:
            return (
                f"the supply just carries it ({use.needed:.2g} A needed of {use.spec.limit:g} A); "
                f"with a quarter to spare: {smallest}"
            )
        return f"the supply carries it ({use.needed:.2g} A needed); smallest that does: {smallest}"
    return f"no limit is stated; {use.needed:.2g} A needed; smallest supply that does: {smallest}"


def wire_verdict(use: SupplyUse) -> str | None:
    """The wire, what it loses, and what is wrong with it; None without one.

    Example:
        >>> spec = SupplySpec(voltage="12 V", wire="22 AWG 8 m")
        >>> thin = SupplyUse("drive", spec, ("drive",), 5.0, 4.0, 4.0, 0.0, 4.5, 15.0, (12.0, 8.5), None, 4.7)
        >>> wire_verdict(thin)[:75]
        '22 AWG stranded copper at 75 degC, 8 m: 1.05 ohm there and back; TOO THIN: '
    """
    if use.spec is None or use.spec.wire is None:
        return None
    wire, found = use.spec.wire, []
    share = use.drop / use.spec.voltage
    loses = f"loses {use.drop:.2g} V ({100 * share:.0f} %) at {use.needed:.2g} A"
    if share > DROP:
        found.append(f"{loses}, more than {100 * DROP:.0f} %")
    if use.fuse is None:
        found.append("no fuse both carries the load and protects it")
    cord = law.CORD_CURRENT.get(wire.gauge)
    if cord is not None and use.rms > cord:
        found.append(f"a cord of that gauge carries {cord:g} A (NEC 400.5)")
    said = f"TOO THIN: {'; '.join(found)}" if found else loses
    return f"{wire.about}; {said}" + (f" ({wire.assumed})" if wire.assumed else "")
