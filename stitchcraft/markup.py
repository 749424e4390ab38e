"""Text for pictures and pages: whatever a name holds is shown as text, never obeyed as markup."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Sequence
from typing import Final

# What XML 1.0 (section 2.2, Char) does not allow, plus the controls of C1, which no page shows.
_UNSHOWN: Final = re.compile("[^\t\n\r\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def shown(text: str) -> str:
    r"""Text with a mark in place of each character that no picture or page can hold.

    Example:
        >>> shown("heron\x00 tote")
        'heron\ufffd tote'
    """
    return _UNSHOWN.sub("\N{REPLACEMENT CHARACTER}", text)


def html_text(text: object) -> str:
    """A value as text of an HTML page.

    Example:
        >>> html_text("<b>heron</b> & gull")
        '&lt;b&gt;heron&lt;/b&gt; &amp; gull'
    """
    return html.escape(shown(str(text)))


def html_table(head: Sequence[str], rows: Iterable[Sequence[object]], *, caption: str = "") -> str:
    """A plain HTML table; every cell is shown as text.

    It names no colours, so that it follows those of the page, dark or light.

    Args:
        head: Column titles.
        rows: One entry a column.
        caption: Words above the table.
    """
    cell = '<td style="text-align: left; vertical-align: top">'
    lines = ["<table>"]
    if caption:
        lines.append(f'<caption style="text-align: left; font-weight: bold">{html_text(caption)}</caption>')
    titles = "".join(f'<th scope="col" style="text-align: left">{html_text(title)}</th>' for title in head)
    lines.append(f"<thead><tr>{titles}</tr></thead>")
    body = ("<tr>" + "".join(f"{cell}{html_text(value)}</td>" for value in row) + "</tr>" for row in rows)
    return "\n".join([*lines, "<tbody>", *body, "</tbody>", "</table>"])
