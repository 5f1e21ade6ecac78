"""The cut list in words: each piece with its length and why, what to buy, and what comes off which length."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from simprop.making.cuts import CutList, Off, cut_list
from simprop.making.numbers import Numbered
from simprop.making.offcuts import Cut
from simprop.making.pieces import Piece
from simprop.parts.part import Panel, Stock
from simprop.quantities import show
from simprop.report.lengths import across, figure, in_inches, length, sold
from simprop.report.structure import Amount, Block, Items, Section, Table
from simprop.run.run import Run

BEHIND = (
    "A part that is drawn to a hole goes on behind it by 2 widths of the hole in metal and 3 in wood and plastic "
    "(common practice, no source), or by the `edge` that the rig states. Drill where the drawings say, then cut."
)

TIMBER, BOARD = 0.038, 0.09
"""A batten as thick as this is called timber, a thinner one as wide as this a board, m (common practice, no source)."""


def cuts(run: Run) -> Section | None:
    """What to cut, what to buy for it, and how to cut it; nothing where no part is drawn."""
    inches = in_inches(run.rig)
    found = cut_list(run.assembly, inches)
    if not found.numbers.parts:
        return None
    blocks: list[Block] = []
    if found.off:
        blocks.append("Lengths run along the middle of each piece; the numbers are those of the drawings.")
        blocks.append(_by_length(found, inches))
        if any(any(piece.behind) for off in found.off for part in off.parts for piece in part.pieces):
            blocks.append(BEHIND)
    if found.panels:
        blocks += ["Out of sheets and boards:", _by_size(found, inches)]
    if found.others:
        rows = _others(found, inches)
        blocks += ["Shaped, bought or found:", rows] if rows.rows else []
    if found.off:
        blocks += ["What to buy, and what comes off each length (numbers of the parts in brackets):"]
        blocks += [_plan(found, inches), Items(list(_assumed(found, inches)))]
    return Section("cut_list", "Cut list", blocks)


def stock_words(stock: Stock, inches: bool = False) -> str:
    """Stock as one asks for it in a shop.

    Example:
        >>> stock_words(Stock("batten", "pine", (0.04, 0.018), 0.6))
        '40 x 18 mm pine batten'
        >>> stock_words(Stock("pipe", "PVC", (), 0.6, "1/2 in PVC")), stock_words(Stock("rod", "steel", (0.008,), 0.1))
        ('1/2 in PVC pipe', '8 mm steel rod')
    """
    if stock.name:
        of = "" if stock.of in stock.name else f" {stock.of}"
        return f"{stock.name}{of} {stock.sort}"
    return f"{across(stock.sizes, inches)} {stock.of} {_called(stock)}"


def _called(stock: Stock) -> str:
    """Its sort, a batten by how thick and wide it is."""
    if stock.sort != "batten":
        return stock.sort
    width, thick = stock.sizes
    return "timber" if thick >= TIMBER else "board" if width >= BOARD else "batten"


def _by_length(found: CutList, inches: bool) -> Table:
    unit = "in" if inches else "mm"
    rows = [
        (
            str(part.number),
            _named(part),
            stock_words(off.stock, inches),
            _lengths(part, inches),
            _why(part.pieces[0], found.eyes.get(part.number, ()), inches),
        )
        for off in found.off
        for part in off.parts
    ]
    titles = (">no.", "part", "cut from", f">cut to, {unit}", f"how it comes, {unit}")
    if not any(row[-1] for row in rows):
        return Table(titles[:-1], [row[:-1] for row in rows])
    return Table(titles, rows)


def _named(part: Numbered) -> str:
    return part.name if len(part.pieces) == 1 else f"{part.name}, {len(part.pieces)} of them"


def _lengths(part: Numbered, inches: bool) -> Amount:
    own = part.pieces[0].lengths
    return Amount(sum(own), "m", " + ".join(figure(one, inches) for one in own))


def _why(piece: Piece, eyes: Sequence[str], inches: bool) -> str:
    """How a length comes from what is drawn; "" where it is just that."""
    start, end = piece.behind
    words = []
    if start and end:
        both = f"{figure(start, inches)} behind each" if abs(start - end) < 1e-4 else ""
        each = both or f"{figure(start, inches)} and {figure(end, inches)} behind"
        words.append(f"{figure(piece.drawn, inches)} from hole to hole, {each}")
    elif start or end:
        words.append(f"{figure(piece.drawn, inches)} to the hole, {figure(start or end, inches)} behind it")
    if piece.kept > 1e-6:
        drawn = "" if words else f"{figure(piece.drawn, inches)} drawn, "
        words.append(f"{drawn}fittings keep {figure(piece.kept, inches)}")
    if eyes:
        words.append(
            f"to the middle of the eye or rod end at {' and '.join(eyes)}, which takes some or adds some"
        )
    if len(piece.shape.path) > 2:
        words.append("along its middle line, bent as drawn")
    return "; ".join(words)


def _by_size(found: CutList, inches: bool) -> Table:
    rows = [
        (
            str(part.number),
            _named(part),
            f"{length(panel.thick, inches)} {panel.of}",
            _size(part, panel, inches),
        )
        for part, panel in found.panels
    ]
    return Table((">no.", "part", "cut out of", "size"), rows)


def _size(part: Numbered, panel: Panel, inches: bool) -> str:
    if panel.form == "disc":
        return f"round, {length(panel.size[0], inches)} across"
    form = "" if panel.form == "rectangle" else ", to its outline"
    why = _why(part.pieces[0], (), inches) if any(part.pieces[0].behind) else ""
    return f"{across(panel.size, inches)}{form}{f' ({why})' if why else ''}"


def _others(found: CutList, inches: bool) -> Table:
    """What isn't cut; motors and fittings stand in the hardware list."""
    rows = [
        (str(part.number), _named(part), _about(part, inches), show(part.pieces[0].shape.mass, "mass"))
        for part in found.others
        if part.pieces[0].shape.mounting is None and part.pieces[0].shape.knot is None
    ]
    return Table((">no.", "part", "about", ">weighs"), rows)


def _about(part: Numbered, inches: bool) -> str:
    shape = part.pieces[0].shape
    if shape.word == "lump":
        return "a weight, of no size"
    if shape.word == "ball":
        return f"{length(2 * shape.radius, inches)} across{f', {shape.material}' if shape.material else ''}"
    sizes = tuple(sorted((float(2 * v) for v in shape.box()[2]), reverse=True))
    return f"{across(sizes, inches)}{f', {shape.material}' if shape.material else ''}"


def _plan(found: CutList, inches: bool) -> Table:
    rows = []
    for off in found.off:
        words, count = stock_words(off.stock, inches), len(off.plan.cuts)
        for k, (cut, many) in enumerate(_alike(off)):
            buy = f"{count} x {sold(off.length, inches)}" if k == 0 else ""
            cutting = f"{many} x: " if many > 1 else ""
            rows.append(
                (words if k == 0 else "", buy, cutting + _off(off, cut, inches), figure(cut.left, inches))
            )
    unit = "in" if inches else "mm"
    return Table(("stock", "buy", f"cut off each, {unit}", f">left, {unit}"), rows)


def _alike(off: Off) -> list[tuple[Cut, int]]:
    """Lengths that are cut alike once, and how many of them there are."""
    found: dict[tuple[tuple[float, int], ...], tuple[Cut, int]] = {}
    for cut in off.plan.cuts:
        key = tuple((round(off.lengths[i], 4), off.numbers[i]) for i in cut.pieces)
        found[key] = (found.get(key, (cut, 0))[0], found.get(key, (cut, 0))[1] + 1)
    return list(found.values())


def _off(off: Off, cut: Cut, inches: bool) -> str:
    rows = Counter((figure(off.lengths[i], inches), off.numbers[i]) for i in cut.pieces)
    return " + ".join(
        f"{f'{many} x ' if many > 1 else ''}{text} ({number})" for (text, number), many in rows.items()
    )


def _assumed(found: CutList, inches: bool) -> Iterator[str]:
    open_ = [stock_words(off.stock, inches) for off in found.off if not off.plan.proven]
    if open_:
        yield f"That no plan takes fewer lengths isn't proven for {', '.join(open_)}; for all others it is."
    else:
        yield "No plan takes fewer lengths of any of them (proven by integer programming)."
    for off in found.off:
        for i in off.plan.too_long:
            words = f"{length(off.lengths[i], inches)} ({off.numbers[i]})"
            yield (
                f"{stock_words(off.stock, inches)}: {words} is longer than a length of {sold(off.length, inches)}; buy "
                "it longer, or join it where little bends it."
            )
    yield "Where little of a length is used, an offcut from the shelf does as well."
    kerfs: dict[str, list[str]] = {}
    for off in found.off:
        kerfs.setdefault(length(off.kerf, inches), []).append(off.stock.sort)
    said = "; ".join(f"{kerf} for {', '.join(dict.fromkeys(sorts))}" for kerf, sorts in kerfs.items())
    yield f"A saw cut takes {said}."
    if any(not off.stated for off in found.off):
        sort, bought = found.off[0].stock.sort, sold(found.off[0].length, inches)
        yield (
            "Lengths as sold are usual ones (common practice, no source), and shops differ: write yours into the rig, "
            f"such as `stock: {{{sort}: {bought}}}`, and the plan follows."
        )
