"""``simprop rigs --gallery FILE``: a page of the rigs that come along, each with a small moving picture."""

from __future__ import annotations

import os
from pathlib import Path

from rich.text import Text

from simprop.commands.rig import read_rig
from simprop.commands.shipped import shipped
from simprop.commands.terminal import console, stages
from simprop.report.figures import banded
from simprop.rig.model import Rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from simprop.written import write_text, written_beside

SIZE = (200, 150)
PACE, MOST = 10.0, 64
"""Pictures a second, and in all."""
QUALITY = 60
"""Of the moving pictures, 0 to 100; some 50 kB each."""
HEAD = """# Rigs that come along

Begin your own like one of them: `simprop new my_prop --like NAME`. What bears most is told for running, ± what is left
of the numerical error. This page is made by `simprop rigs --gallery rigs/README.md`.

| | rig | what it does | bears most |
|---|---|---|---|
"""


def write_gallery(page: Path, out: Path | None) -> int:
    """Run every rig that comes along; write the page, and a moving picture of each into the folder `gallery`.

    Args:
        page: Markdown file to write.
        out: folder in which the folder of pictures stands; None: renders.
    """
    rigs = {name: (path, read_rig(path, {})) for name, path in shipped().items()}
    pictures = (out or Path("renders")) / "gallery"
    with stages() as report, written_beside(pictures) as work:
        rows = []
        for k, (name, (path, rig)) in enumerate(rigs.items()):
            report(f"running {name}", k, len(rigs))
            run = simulate(rig)
            _picture(run, work / f"{name}.webp")
            rows.append(_row(name, rig, run, _from(page, path), _from(page, pictures / f"{name}.webp")))
        with written_beside(page.parent) as beside:
            write_text(beside / page.name, HEAD + "".join(rows))
    console.print(Text(f"Written to {page} and {pictures}"))
    return 0


def _from(page: Path, file: Path) -> str:
    return Path(os.path.relpath(file.resolve(), page.parent.resolve())).as_posix()


def _row(name: str, rig: Rig, run: Run, file: str, picture: str) -> str:
    first, *_ = " ".join(rig.about.split()).split(". ")
    worst = run.loads.worst
    most = "nothing" if worst is None else f"{worst.sort} {worst.name}, {banded(worst)}"
    return f"| ![{rig.name}]({picture}) | [`{name}`]({file}) | {first.rstrip('.')}. | {most} |\n"


def _picture(run: Run, path: Path) -> None:
    """The whole run in at most `MOST` pictures, at its own pace."""
    from PIL import Image

    from simprop.picture.render.film import Shot, painters, prepare

    pace = min(PACE, (MOST - 1) / run.assembly.rig.run.duration)
    film = prepare(run.assembly, run.track, Shot(size=SIZE, frames_per_second=pace, plain=True))
    paint = painters(film)
    first, *more = (Image.fromarray(paint(k)) for k in range(film.count))
    wait = round(1000 / pace)
    first.save(path, save_all=True, append_images=more, duration=wait, loop=0, quality=QUALITY, method=6)
