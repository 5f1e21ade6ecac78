"""What a change makes of a state: a field moved, all taken back, the file saved elsewhere, the changes kept."""

from __future__ import annotations

import re
from dataclasses import replace

from simprop.errors import RigError, SimpropError
from simprop.live.types import State
from simprop.study.find.written import text_at, written_variant
from simprop.study.trial.tried import rig_in
from simprop.study.types import Study, Variant


def study_of(state: State) -> Study:
    """The rig of a state without what is put over it."""
    return Study(_read(state.text), state.file, engine=state.engine)


def variant_of(state: State) -> Variant:
    """What is put over the rig of a state."""
    return Variant(state.sets)


def changed(state: State, field: str, text: str) -> State:
    """The state with another value in a field; one that stands in the file already is taken out of what is put over.

    Args:
        state: before.
        field: as `--set` has it.
        text: that stands there.

    Example:
        >>> changed(State("params: {throw: 50 mm}", ""), "throw", "60 mm").sets
        (('throw', '60 mm'),)
        >>> changed(State("params: {throw: 50 mm}", "", (("throw", "60 mm"),)), "throw", "50 mm").sets
        ()
    """
    others = tuple((name, value) for name, value in state.sets if name != field)
    if filed(state, field) == text:
        return replace(state, sets=others)
    return replace(state, sets=(*others, (field, text)))


def put(state: State, line: str) -> State:
    """The state with a value as somebody writes it, in any unit that the file may have it in.

    Args:
        state: before; its file has no faults.
        line: a field and its value, as `--set` has them; 2 1/2 may stand for 2-1/2.

    Raises:
        SimpropError: where it isn't a field and a value, the rig has no such field, or the value can't stand there.

    Example:
        >>> text = "rig: 1\\nname: A\\nparams: {throw: 50 mm}\\nbodies: {post: {fixed: true}}\\nrun: {for: 1 s}"
        >>> put(State(text, ""), "throw = 2 1/2 in").sets
        (('throw', '2-1/2 in'),)
    """
    field, mark, value = (part.strip() for part in line.partition("="))
    if not (field and mark and value):
        raise SimpropError(
            f"write a field and its value, as throw = 2 1/2 in; this is: {line.strip() or 'nothing'}"
        )
    after = changed(state, field, re.sub(r"^(\d+) +(\d+/\d+)", r"\1-\2", value))
    rig_in(study_of(after), variant_of(after))
    return after


def filed(state: State, field: str) -> str:
    """What stands in a field of the file; "" where nothing does, or the file can't be read.

    Example:
        >>> filed(State("params: {throw: 50 mm}", ""), "throw")
        '50 mm'
    """
    try:
        return text_at(study_of(state), field)
    except RigError:
        return ""


def followed(state: State, text: str) -> State:
    """The state after its file was saved: what the author changed in the file, or took out of it, wins.

    Args:
        state: before.
        text: of the file now.

    Example:
        >>> before = State("params: {throw: 50 mm, lift: 1 m}", "", (("throw", "60 mm"), ("lift", "2 m")))
        >>> followed(before, "params: {throw: 55 mm, lift: 1 m}").sets
        (('lift', '2 m'),)
    """
    after = replace(state, text=text, sets=())
    kept = tuple((f, value) for f, value in state.sets if filed(state, f) == filed(after, f))
    return replace(after, sets=kept)


def kept(state: State) -> str:
    """The text of the rig file with what is put over it written in, comments and layout as they were.

    Raises:
        SimpropError: where a value can't be put in without changing another.

    Example:
        >>> kept(State("params: {throw: 50 mm}   # hole to hole", "", (("throw", "60 mm"),)))
        'params: {throw: 60 mm}   # hole to hole'
    """
    return written_variant(study_of(state), variant_of(state), state.text)


def differing(one: State, other: State) -> tuple[tuple[str, str, str], ...]:
    """Fields in which two states differ by what is put over their files, with the text in each.

    Where their files themselves differ, that is a line of its own.

    Args:
        one: a state.
        other: another of the same file.

    Example:
        >>> one = State("params: {throw: 50 mm}", "")
        >>> differing(one, changed(one, "throw", "60 mm"))
        (('throw', '50 mm', '60 mm'),)
    """
    fields = dict.fromkeys(field for field, _ in (*one.sets, *other.sets))
    found = [
        (f, dict(one.sets).get(f) or filed(one, f), dict(other.sets).get(f) or filed(other, f))
        for f in fields
    ]
    if one.text != other.text:
        found.append(("the file", "before it was saved", "as it is now"))
    if one.engine != other.engine:
        found.append(("engine", one.engine or "as usual", other.engine or "as usual"))
    return tuple((field, a, b) for field, a, b in found if a != b)


def _read(text: str) -> str:
    return text.replace("\r\n", "\n")
