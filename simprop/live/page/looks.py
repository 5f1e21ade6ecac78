"""The tab of how the prop is seen: its light, and which marks."""

from __future__ import annotations

from simprop.live import html
from simprop.live.page.prop import Prop
from simprop.live.page.types import Panel
from simprop.live.types import View

MARKS = {
    "names": "names of joints",
    "joints": "marks at joints",
    "loads": "forces",
    "paths": "paths of watched points",
}


class Looks:
    """How the prop is seen.

    Args:
        panel: where its controls are put.
        prop: that is seen.
    """

    def __init__(self, panel: Panel, prop: Prop):
        gui = panel.gui
        light = gui.add_dropdown("light", ("as the rig says", "day", "night"))
        light.on_update(lambda _: prop.light(light.value if light.value in ("day", "night") else None))

        def see(key: str) -> None:
            box = gui.add_checkbox(MARKS[key], prop.seen[key])

            def changed(_: object) -> None:
                prop.seen[key] = box.value
                prop.mark()

            box.on_update(changed)

        for key in MARKS:
            see(key)
        self._legend = gui.add_html(html.legend(None))

    def take(self, view: View) -> None:
        """Another view is shown: its arrows have their own scale."""
        self._legend.content = html.legend(view.scene)
