"""What may stand in a rig file as a report: each place with its kinds, their keys, and an example of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simprop.report.structure import Block, Report, Section, Strong, Table
from simprop.rig.examples import EXAMPLES, example
from simprop.rig.reference import TOPICS, Entry, Key, reference

SORTS = {
    "joints.NAME": "joint",
    "bodies.NAME.parts": "part",
    "joints.NAME.held_by": "way of holding",
    "springs.NAME": "spring",
    "stops.NAME": "stop",
    "contacts.NAME": "contact",
    "pulls.NAME": "pull",
    "cues.scenes.NAME.do": "cue",
    "motors.NAME.motor": "motor",
    "pushers.NAME.motor": "pusher",
}
"""What the kinds of a place are called where examples of them are kept."""


def fields_report() -> Report:
    """Every place of a rig file, and how values are written."""
    entries = reference()
    places = dict.fromkeys(entry.place for entry in entries)
    sections = [_place(place, [e for e in entries if e.place == place]) for place in places]
    topics = [
        Section(f"topic-{name}", f"How {name} are written" if name != "inertia" else "Inertia", said)
        for name, said in TOPICS.items()
    ]
    return Report("What may stand in a rig file", [*sections, *topics])


def example_of(entry: Entry) -> str:
    """The example of a kind; "" where there is none."""
    place = entry.place.removesuffix(f".{entry.kind}") if entry.kind else entry.place
    sort = SORTS.get(place, "")
    return example(sort, entry.kind) if entry.kind in EXAMPLES.get(sort, {}) else ""


def _place(place: str, entries: Sequence[Entry]) -> Section:
    shared = [k for k in entries[0].may if len(entries) > 1 and all(k in e.may for e in entries)]
    blocks: list[Block] = [block for entry in entries for block in _kind(entry, shared)]
    if shared:
        blocks += ["Each of these may also have:", _keys((), shared)]
    return Section(place or "file", place or "The whole file", blocks)


def _kind(entry: Entry, shared: Sequence[Key]) -> Iterator[Block]:
    if entry.kind:
        yield Strong(entry.kind)
    yield entry.about
    if text := example_of(entry):
        yield f"`{text}`"
    own = [key for key in entry.may if key not in shared]
    if entry.needs or own:
        yield _keys(entry.needs, own)


def _keys(needs: Sequence[Key], may: Sequence[Key]) -> Table:
    rows = [
        (f"`{key.name}`", word, key.form, key.about)
        for keys, word in ((needs, "yes"), (may, ""))
        for key in keys
    ]
    return Table(("key", "needed", "how it is written", "what it is"), rows)
