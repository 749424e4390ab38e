"""The pages that show a catalogue: each kit with its picture, counts and findings, a few hundred a page."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from typing import Final
from urllib.parse import quote

from stitchcraft.catalogue.records import Record
from stitchcraft.markup import html_text
from stitchcraft.wording import counted

KITS_A_PAGE: Final = 200
_MOST_LISTED: Final = 100
_NEIGHBOURS: Final = 4

_STYLE: Final = """
:root { color-scheme: light dark; font: 16px/1.45 system-ui, sans-serif; }
body { margin: 0 auto; max-width: 78rem; padding: 1rem; }
ul { display: grid; gap: 1rem; grid-template-columns: repeat(auto-fill, minmax(20rem, 1fr)); list-style: none;
     padding: 0; }
ul > li { border: 1px solid color-mix(in srgb, currentColor 25%, transparent); border-radius: .4rem; padding: .8rem; }
ul > li.failed { border-style: dashed; }
img { aspect-ratio: var(--shape); background: #fff; border-radius: .2rem; display: block; margin: 0 auto;
      object-fit: cover; object-position: top; width: min(100%, 15rem * var(--shape)); }
h2 { font-size: 1rem; margin: .6rem 0 .2rem; overflow-wrap: anywhere; }
p { margin: .2rem 0; }
.wrong { font-weight: 600; }
nav a, nav b { margin-right: .6rem; }
"""


def page_name(number: int) -> str:
    """File name of a page, from 1."""
    return "index.html" if number == 1 else f"index-{number}.html"


def index_pages(name: str, count: int, records: Iterable[Record], *, kits: str) -> Iterator[tuple[str, str]]:
    """Make the pages one after another, the first one last: it lists what is amiss on any of them.

    Args:
        name: Title of the catalogue.
        count: How many kits there are in all.
        records: Their records.
        kits: The folder that holds the kits, seen from the pages.

    Yields:
        File name and text of each page.
    """
    pages, waiting = max(1, -(-count // KITS_A_PAGE)), iter(records)
    first, amiss, troubled = "", "", 0
    for number in range(1, pages + 1):
        items = []
        for record in itertools.islice(waiting, KITS_A_PAGE):
            items.append(_item(record, kits))
            if not record.ok:
                troubled += 1
                amiss += _amiss(record, number) if troubled <= _MOST_LISTED else ""
        shown = "\n".join(items)
        if number == 1:
            first = shown
        else:
            yield page_name(number), _page(name, count, number, pages, shown)
    if troubled > _MOST_LISTED:
        amiss += f"<li>and {troubled - _MOST_LISTED:,} more</li>\n"
    head = f"<h2>{counted(troubled, 'kit')} not as they should be</h2>\n<ol>\n{amiss}</ol>\n" if troubled else ""
    yield page_name(1), _page(name, count, 1, pages, first, head)


def _page(name: str, count: int, number: int, pages: int, items: str, head: str = "") -> str:
    nav = f'<nav aria-label="Pages">{_links(number, pages)}</nav>' if pages > 1 else ""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{html_text(name)}</title><style>{_STYLE}</style></head><body>\n"
        f"<h1>{html_text(name)}</h1><p>{counted(count, 'kit')}</p>{nav}\n{head}<ul>\n{items}\n</ul>\n{nav}"
        "</body></html>\n"
    )


def _links(number: int, pages: int) -> str:
    """Links to the first page, the last and those around this one: a link to every page on every page adds up."""
    shown = sorted({1, pages, *range(max(1, number - _NEIGHBOURS), min(pages, number + _NEIGHBOURS) + 1)})
    words = []
    for before, k in zip([0, *shown], shown, strict=False):
        if k - before > 1:
            words.append("…")
        words.append(f"<b>{k}</b>" if k == number else f'<a href="{page_name(k)}">{k}</a>')
    return " ".join(words)


def _title(record: Record) -> str:
    return html_text(record.name.replace("/", " · "))


def _anchor(record: Record) -> str:
    return quote(record.name)


def _amiss(record: Record, page: int) -> str:
    said = f"{_said(record)}; {record.said[0]}" if record.said else _said(record)
    trouble = said if record.made else f"not made: {record.error}"
    return f'<li><a href="{page_name(page)}#{_anchor(record)}">{_title(record)}</a>: {html_text(trouble)}</li>\n'


def _item(record: Record, kits: str) -> str:
    title, place = f"<h2>{_title(record)}</h2>", f'id="{_anchor(record)}"'
    if not record.made:
        return f'<li class="failed" {place}>{title}<p class="wrong">Not made</p><p>{html_text(record.error)}</p></li>'
    at = quote(f"{kits}/{record.name}")
    papers = " · ".join(
        f'<a href="{at}/{file}">{words}</a>'
        for file, words in (
            ("worksheet.pdf", "worksheet"), ("templates.pdf", "templates"), ("player.html", "player"),
            ("report.json", "report"),
        )
    )  # fmt: skip
    # the bag is at the top of the preview; the parts below it are cut off by the style, for the link to show
    alt = html_text(f"The bag, front and back: {record.name}")
    shape, source = f"--shape:{record.bag_shape:g}", f"{at}/preview.png"
    return (
        f'<li {place}><a href="{source}"><img loading="lazy" style="{shape}" src="{source}" alt="{alt}"></a>{title}'
        f"<p>{record.parts} parts, {record.stitches:,} stitches, {record.minutes:.0f} min of sewing</p>"
        f"<p>{record.proofs} of {record.proofs_of} proofs hold</p>{_findings(record)}<p>{papers}</p></li>"
    )


def _said(record: Record) -> str:
    return ", ".join(counted(count, level) for level, count in record.findings.items() if count)


def _findings(record: Record) -> str:
    said = _said(record)
    if not said:
        return "<p>No findings</p>"
    summary = said if record.ok else f'<span class="wrong">{said}</span>'
    if not record.said:
        return f"<p>{summary}</p>"
    words = "".join(f"<p>{html_text(one)}</p>" for one in record.said)
    return f"<details><summary>{summary}</summary>{words}</details>"
