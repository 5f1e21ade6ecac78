"""What bears most: joints by how hard they work and what to do for them, motors, binding, tipping, and the fence."""

from __future__ import annotations

from collections.abc import Iterator

from simprop.checking.check import Check
from simprop.making.numbers import part_called, part_numbers
from simprop.making.upkeep import Bears, bearing_most, lasts, looks, members
from simprop.report.figures import amount, number
from simprop.report.loads import binding_line
from simprop.report.order import name_of
from simprop.report.strength import explain, fence_lines, spot, weakest
from simprop.report.structure import Amount, Block, Items, Section, Strong, Table
from simprop.rig.site import Visitors
from simprop.run.run import Run
from simprop.sizing import heat
from simprop.strength.setting import setting_of

WORST = 3
"""So many of the weakest places besides joints are told."""
PRACTICE = "common practice, no source"


def upkeep(run: Run) -> Section:
    """What bears most, and how to look after it."""
    rows = bearing_most(run)
    setting = setting_of(run.rig)
    blocks: list[Block] = [Strong(text) for text in _failing(run)]
    if rows:
        blocks += [
            "Joints, the hardest worked first. Used is what the run asks of a joint, times the factor that it is to "
            "have, over what it bears: at 100 % it has just the factor that is asked for.",
            Table(("joint", "held by", ">used", "by", ">peak load", ">lasts"), [_row(r) for r in rows]),
        ]
        blocks.append(Items([*_care(rows)]))
    seen = ", ".join(map(str, looks(run)))
    blocks.append(
        f"A season of {setting.nights:g} nights of {setting.hours:g} h: look all of it over before night {seen}, and "
        f"when it is put away ({PRACTICE}). {_lives(rows, setting.nights)}"
    )
    others = [*_others(run, rows)]
    if others:
        blocks += ["Besides the joints, what works hardest:", Items(others)]
    for head, lines in (
        ("Motors over an evening", [*_motors(run)]),
        ("Binding", [binding_line(b) for b in run.binding]),
        ("Tipping and sliding", [*_stands(run)]),
        ("Reach of visitors, and the fence", [*_reach(run)]),
    ):
        if lines:
            blocks += [Strong(head), Items(lines)]
    return Section("bears", "What bears most", blocks)


def _failing(run: Run) -> Iterator[str]:
    for group in weakest(run.strength):
        if group[0].verdict == "fail":
            place, name = name_of(group[0].place), group[0].name
            yield f"Mend before you build: {place} ({name}) doesn't hold what the run asks of it."


def _row(row: Bears) -> tuple[str | Amount, ...]:
    held = ("its own shape" if row.guided else "not named") if row.hold is None else row.hold.called
    force = Amount(row.peak.value, "N", f"{number(row.peak.value)} N")
    if row.check is None or row.share is None:
        return (name_of(row.joint), held, Amount(None, "", "not computed"), row.why, force, "-")
    used = percent(row.share)
    life = Amount(row.life, "nights", "-" if row.life is None else amount(row.life, "nights"))
    return (name_of(row.joint), held, Amount(row.share, "", used), row.check.name, force, life)


def percent(share: float) -> str:
    """A share of what is allowed, as people read it.

    Example:
        >>> percent(0.0604), percent(5.71), percent(0.00029), percent(400.0)
        ('6.0 %', '571 %', '0.029 %', 'over 9999 %')
    """
    if share >= 100:
        return "over 9999 %"
    return f"{number(100 * share, 2 if share < 0.995 else 3)} %"


def _care(rows: tuple[Bears, ...]) -> Iterator[list[str]]:
    """What to watch, tighten and replace, once for each sort of fastener, the hardest worked first."""
    sorts: dict[str, list[Bears]] = {}
    for row in rows:
        if row.hold is not None:
            sorts.setdefault(row.hold.kind, []).append(row)
    for kind, some in sorts.items():
        care = some[0].hold.CARE if some[0].hold is not None else None
        if care is None:
            continue
        names = ", ".join(name_of(r.joint) for r in some)
        yield [
            f"{kind.replace('_', ' ').capitalize()} of {names}",
            f"watch: {care.watch}",
            f"tighten: {care.tighten}",
            f"replace: {care.replace} ({PRACTICE})",
        ]
    plain = [name_of(r.joint) for r in rows if r.hold is None]
    if plain:
        yield [
            f"Without a fastener: {', '.join(plain)}",
            "watch: play, grooves, dust of wear",
            f"grease wood on metal with wax, plastic on plastic not at all ({PRACTICE})",
        ]


def _lives(rows: tuple[Bears, ...], nights: float) -> str:
    short = [r for r in rows if lasts(r, nights) is False]
    known = [r for r in rows if r.life is not None]
    if short:
        told = ", ".join(f"{name_of(r.joint)} after night {max(1, int(r.replace_after or 0))}" for r in short)
        return f"Replace by the rules of fatigue, though it looks sound: {told}."
    if known:
        return (
            "By the rules of fatigue every fastener with a life in the table outlasts the season four times; the "
            "others are judged by what you see."
        )
    return "No fastener has a life by the rules of fatigue: what you see decides."


def _others(run: Run, rows: tuple[Bears, ...]) -> Iterator[list[str]]:
    joints = {r.joint for r in rows}
    groups = [
        g for g in weakest(run.strength) if g[0].group in ("member", "fatigue") and spot(g[0]) not in joints
    ]
    numbers, parts = part_numbers(run.assembly), members(run.assembly)
    for group in groups[:WORST]:
        check = group[0]
        name, comma, rest = check.place.partition(", ")
        place = parts.get(name)
        called = name_of(name) if place is None or place not in numbers.of else part_called(numbers, *place)
        used = f"{percent(1 / check.margin)} used" if check.margin else "bears nothing"
        yield [f"{called}{comma}{rest}: {used}", f"{check.name}, {explain(check)}"]


def _motors(run: Run) -> Iterator[str]:
    setting = setting_of(run.rig)
    air = run.rig.temperature if run.rig.temperature is not None else 20.0
    for size in run.sizes(setting.hours, air):
        name = name_of(size.work.drive.name)
        if size.heat is not None:
            yield f"{name}: {heat.verdict(size.heat)}"
        elif size.continuous is not None:
            yield f"{name}: {size.continuous}"
        elif size.work.drive.figures.electric:
            yield f"{name}: heat not computed (no thermal data): feel it after ten minutes and after an hour"


def _stands(run: Run) -> Iterator[str]:
    stand = run.rig.stand
    if stand is not None and stand.anchored:
        yield "It is anchored: tipping isn't computed; pull at it with both hands before each night."
    for check in run.strength.checks:
        if check.group == "stability":
            yield _told(check)


def _told(check: Check) -> str:
    what = f"{check.name} ({check.place})"
    if check.margin is None:
        return f"{what}: {check.reason}"
    holds = "holds" if check.verdict == "pass" else "DOESN'T HOLD"
    used = f", {percent(1 / check.margin)} used" if check.margin else ""
    return f"{what}: {holds}{used}; {explain(check)}"


def _reach(run: Run) -> Iterator[str]:
    for check in run.strength.checks:
        if check.group == "reach":
            yield f"{name_of(check.place)}: {check.name}: {check.reason}"
    found = run.strength.envelopes
    if found:
        yield from fence_lines(run.rig.visitors or Visitors(), found)
    if run.rig.visitors is None:
        yield "The rig doesn't say how near visitors come (`visitors: {side: -y, barrier: 1.5 m}`)."
