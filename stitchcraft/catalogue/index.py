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

_STYLE: Final = """
:root { color-scheme: light dark; font: 16px/1.45 system-ui, sans-serif; }
body { margin: 0 auto; max-width: 78rem; padding: 1rem; }
ul { display: grid; gap: 1rem; grid-template-columns: repeat(auto-fill, minmax(20rem, 1fr)); list-style: none;
     padding: 0; }
li { border: 1px solid color-mix(in srgb, currentColor 25%, transparent); border-radius: .4rem; padding: .8rem; }
li.failed { border-style: dashed; }
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
    """Make the pages one after another.

    Args:
        name: Title of the catalogue.
        count: How many kits there are in all.
        records: Their records.
        kits: The folder that holds the kits, seen from the pages.

    Yields:
        File name and text of each page.
    """
    pages, total = max(1, -(-count // KITS_A_PAGE)), counted(count, "kit")
    waiting = iter(records)
    for number in range(1, pages + 1):
        items = "\n".join(_item(record, kits) for record in itertools.islice(waiting, KITS_A_PAGE))
        links = " ".join(
            f"<b>{k}</b>" if k == number else f'<a href="{page_name(k)}">{k}</a>' for k in range(1, pages + 1)
        )
        nav = f'<nav aria-label="Pages">{links}</nav>' if pages > 1 else ""
        yield (
            page_name(number),
            (
                '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
                '<meta name="viewport" content="width=device-width, initial-scale=1">'
                f"<title>{html_text(name)}</title><style>{_STYLE}</style></head><body>\n"
                f"<h1>{html_text(name)}</h1><p>{total}</p>{nav}\n<ul>\n{items}\n</ul>\n{nav}</body></html>\n"
            ),
        )


def _item(record: Record, kits: str) -> str:
    title = f"<h2>{html_text(record.name.replace('/', ' · '))}</h2>"
    if not record.made:
        return f'<li class="failed">{title}<p class="wrong">Not made</p><p>{html_text(record.error)}</p></li>'
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
        f'<li><a href="{source}"><img loading="lazy" style="{shape}" src="{source}" alt="{alt}"></a>{title}'
        f"<p>{record.parts} parts, {record.stitches:,} stitches, {record.minutes:.0f} min of sewing</p>"
        f"<p>{record.proofs} of {record.proofs_of} proofs hold</p>{_findings(record)}<p>{papers}</p></li>"
    )


def _findings(record: Record) -> str:
    said = ", ".join(counted(count, level) for level, count in record.findings.items() if count)
    if not said:
        return "<p>No findings</p>"
    return f"<p>{said}</p>" if record.ok else f'<p class="wrong">{said}</p>'
