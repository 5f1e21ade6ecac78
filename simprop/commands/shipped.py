"""``simprop rigs`` and ``simprop new``: the rigs that come along, and a file of your own that begins like one."""

from __future__ import annotations

import re
from collections.abc import Mapping
from importlib import metadata
from pathlib import Path

from rich.table import Table
from rich.text import Text

import simprop
from simprop.commands.fields import schema_text
from simprop.commands.rig import read_rig
from simprop.commands.terminal import console, stages
from simprop.errors import UnknownNameError, WriteError
from simprop.rig.model import Rig
from simprop.run.once import Report
from simprop.run.simulate import simulate
from simprop.written import write_text, written_beside

SCHEMA = "rig.schema.json"
TILE = (320, 240)
ACROSS = 3
"""Pictures in a row of the sheet."""


def shipped() -> Mapping[str, Path]:
    """The rig files that come along, by their names: beside the package, or where its installer put them."""
    beside = Path(simprop.__file__).parent.parent / "rigs"
    found = list(beside.glob("*.yaml"))
    if not found:
        files = metadata.files("simprop") or []
        found = [Path(str(f.locate())) for f in files if f.suffix == ".yaml" and f.parent.name == "rigs"]
    return {path.stem: path for path in sorted(found)}


def one_of(name: str) -> Path:
    """The file of a rig that comes along, or a rig file of one's own.

    Raises:
        UnknownNameError: where it is neither.
    """
    if Path(name).is_file():
        return Path(name)
    rigs = shipped()
    if name not in rigs:
        raise UnknownNameError("rig that comes along", name, rigs)
    return rigs[name]


def list_rigs(draw: bool, out: Path | None) -> int:
    """Print the rigs that come along, a line each; with `draw` also a sheet of pictures."""
    table = Table("rig", "what it does", box=None, pad_edge=False)
    rigs = {name: read_rig(path, {}) for name, path in shipped().items()}
    for name, rig in rigs.items():
        table.add_row(Text(name), Text(" ".join(rig.about.split())))
    console.print(table)
    console.print(Text("Begin your own like one of them: simprop new my_prop --like wall_peeper"))
    if draw:
        folder = out or Path("renders")
        with written_beside(folder) as work, stages() as report:
            _sheet(rigs, work / "rigs.png", report)
        console.print(Text(f"Written to {folder / 'rigs.png'}"))
    return 0


def _sheet(rigs: Mapping[str, Rig], path: Path, report: Report) -> None:
    """A picture of each at its start, with its name."""
    from PIL import Image

    from simprop.picture.render.film import Shot, prepare, still

    rows = -(-len(rigs) // ACROSS)
    sheet = Image.new("RGB", (ACROSS * TILE[0], rows * TILE[1]))
    for k, (name, rig) in enumerate(rigs.items()):
        report(f"drawing {name}", k, len(rigs))
        short = rig.model_copy(update={"run": rig.run.model_copy(update={"duration": 0.1})})
        run = simulate(short, settle=False)
        image = still(
            prepare(run.assembly, run.track, Shot(size=TILE, title=name, caption="", whole=True)), 0
        )
        sheet.paste(Image.fromarray(image), ((k % ACROSS) * TILE[0], (k // ACROSS) * TILE[1]))
    sheet.save(path)


def begin(name: str, like: str) -> int:
    """Write NAME.yaml like another rig, with its comments; beside it the files that it names and the format's schema.

    Raises:
        WriteError: where a file of that name is there already.
        UnknownNameError: for a rig that doesn't come along.
    """
    source, target = one_of(like), Path(name if name.endswith(".yaml") else f"{name}.yaml")
    rig = read_rig(source, {})
    if target.exists():
        raise WriteError(f"{target} is there already; nothing was written")
    title = target.stem.replace("_", " ").capitalize()
    text = re.sub(r"(?m)^name:.*$", f"name: {title}", rig.source.text, count=1)
    with written_beside(target.parent) as work:
        write_text(work / target.name, text)
        write_text(work / SCHEMA, schema_text())  # named at the head of the file
        for file in rig.file_names:
            if not (target.parent / file).exists():
                copied = work / file
                copied.parent.mkdir(parents=True, exist_ok=True)
                copied.write_bytes(rig.source.read(file))
    console.print(
        Text(f"Written {target}, like {source.stem}. Next: simprop check {target}, then simprop run {target}")
    )
    return 0
