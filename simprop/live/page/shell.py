"""What the window of the browser says and how the panel lies in a narrow one: a style sheet that the page carries."""

from __future__ import annotations

from json import dumps
from typing import Any

import numpy as np
from markupsafe import escape

from simprop.scene.types import Eye

NARROW = 600
"""Width, in pixels, up to which a window is a phone's: the panel lies along its lower edge."""
SHEET = 0.5
"""Share of the height that the panel takes there."""
STYLE = f"""@media (max-width: {NARROW}px) {{
  .mantine-Paper-root[style*="position: fixed"][style*="bottom"] {{
    width: 100% !important; max-height: {100 * SHEET:.0f}% !important }}
  .mantine-Paper-root[style*="position: fixed"] [style*="width: 20em"] {{ width: 100% !important }}
  .mantine-Paper-root button {{ min-height: 2.4em }}
}}"""
ICON = (
    "data:image/svg+xml,<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 32 32'><path d='M7 25 L12 12 L25 8' "
    "fill='none' stroke='%230072b2' stroke-width='5' stroke-linejoin='round' stroke-linecap='round'/>"
    "<circle cx='12' cy='12' r='3.2' fill='%23fff' stroke='%23333' stroke-width='2'/>"
    "<circle cx='7' cy='25' r='3.2' fill='%23d55e00'/></svg>"
)
"""Two links and their pins."""


def shell(title: str) -> str:
    """A style sheet that also gives the window its title and icon once it is read.

    Args:
        title: of the window.

    Example:
        >>> "wall peeper" in shell("wall peeper")
        True
    """
    script = (
        f"document.title = {dumps(title)}; "
        f"document.querySelectorAll('link[rel~=icon]').forEach(link => link.href = {dumps(ICON)})"
    )
    return f'<style onload="{escape(script)}">{STYLE}</style>'


def framed(eye: Eye, width: int, height: int) -> Eye:
    """An eye that sees in a window what it sees in a square one; above the panel where that lies along the lower edge.

    Args:
        eye: of a square picture.
        width, height: of the window, pixels.

    Example:
        >>> eye = Eye(np.array([0.0, -2.0, 1.0]), np.array([0.0, 0.0, 1.0]), 1.0)
        >>> framed(eye, 1000, 500).place.tolist()
        [0.0, -2.0, 1.0]
        >>> framed(eye, 400, 800).place.round(2).tolist()
        [0.0, -4.0, -0.09]
    """
    narrow = width <= NARROW and height > width
    free = height * (1.0 - SHEET) if narrow else float(height)
    times = height / min(free, float(width)) if min(free, float(width)) < height else 1.0
    ahead = eye.target - eye.place
    way = ahead / np.linalg.norm(ahead)
    right = np.cross(way, [0.0, 0.0, 1.0])
    size = float(np.linalg.norm(right))
    up = np.cross(right / size, way) if size > 1e-6 else np.zeros(3)
    seen = 2.0 * times * float(np.linalg.norm(ahead)) * float(np.tan(eye.angle / 2.0))
    down = -0.5 * SHEET * seen * up if narrow else np.zeros(3)
    target = eye.target + down
    return Eye(target - times * ahead, target, eye.angle)


def look(client: Any, eye: Eye) -> None:
    """Let one who looks see from an eye, as his window needs it.

    Args:
        client: of the server.
        eye: of a square picture.
    """
    own = framed(eye, client.camera.image_width, client.camera.image_height)
    with client.atomic():
        client.camera.position, client.camera.look_at = own.place, own.target
