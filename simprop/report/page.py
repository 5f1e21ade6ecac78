"""A report as one HTML page that needs nothing beside it: it is read on a screen or a phone, and printed."""

from __future__ import annotations

from base64 import b64encode
from functools import lru_cache
from mimetypes import guess_type
from pathlib import Path

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup

from simprop.report.structure import Amount, Clip, Inset, Items, Picture, Report, Strong, Table
from simprop.report.writers import UNIT, cell_text, code_spans

KINDS = {
    str: "words",
    Strong: "strong",
    Items: "items",
    Table: "table",
    Picture: "picture",
    Clip: "clip",
    Inset: "inset",
}
"""What the template calls each sort of block."""


def page(report: Report, folder: Path) -> str:
    """A report as an HTML page with its pictures and clips in it.

    Args:
        report: what it says.
        folder: where pictures without content, and clips, stand.

    Raises:
        OSError: where one can't be read.
    """

    def inline(file: str, content: bytes = b"") -> str:
        kind = guess_type(file)[0] or "application/octet-stream"
        return f"data:{kind};base64,{b64encode(content or (folder / file).read_bytes()).decode()}"

    sections = [section for section in report.sections if section.blocks]
    return _template().render(report=report, sections=sections, inline=inline)


@lru_cache(maxsize=1)
def _template() -> Template:
    world = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    world.filters |= {"words": _words, "cell": cell_text, "inside": _inside}
    world.tests |= {"amount": lambda cell: isinstance(cell, Amount), "text": lambda x: isinstance(x, str)}
    world.globals["kind"] = lambda block: KINDS[type(block)]
    return world.from_string(Path(__file__).with_name("page.html").read_text(encoding="utf-8"))


def _words(text: str) -> Markup:
    """Text as HTML: code between backticks marked as such, numbers kept beside their units.

    Example:
        >>> _words("a <b> of 2 N*m, see `x<y`")
        Markup('a &lt;b&gt; of 2\\xa0N·m, see <code>x&lt;y</code>')
    """
    spans = [
        Markup("<code>{}</code>").format(span[1:-1]) if k % 2 else Markup.escape(UNIT.sub("\xa0", span))
        for k, span in enumerate(code_spans(text))
    ]
    return Markup("").join(spans)


def _inside(document: str) -> Markup:
    """A whole document as the value of an attribute in double quotes.

    Example:
        >>> _inside('<p title="a & b">')
        Markup('<p title=&quot;a &amp; b&quot;>')
    """
    return Markup(document.replace("&", "&amp;").replace('"', "&quot;"))
