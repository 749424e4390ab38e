"""Bytes of an SVG file to a tree of elements, under limits and with nothing fetched, expanded or executed."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final
from xml.etree.ElementTree import Element, ParseError, TreeBuilder

from defusedxml.common import DefusedXmlException, DTDForbidden
from defusedxml.ElementTree import DefusedXMLParser

from stitchcraft.defaults import ARTWORK
from stitchcraft.errors import ArtworkError

SVG: Final = "http://www.w3.org/2000/svg"
XLINK_HREF: Final = "{http://www.w3.org/1999/xlink}href"


def drawing_bytes(source: str | bytes | os.PathLike[str], name: str | None) -> tuple[bytes, str]:
    """Get at a drawing's bytes, and what to call it.

    Args:
        source: A path; or the drawing itself as bytes, or as a string that holds a ``<``.
        name: What to call it in messages; the file's name if None.

    Raises:
        ArtworkError: If it cannot be read, is no plain file, or is too large.
    """
    if isinstance(source, bytes):
        data, called = source, "drawing"
    elif isinstance(source, str) and "<" in source:
        data, called = source.encode("utf-8", "surrogatepass"), "drawing"
    else:
        path = Path(source)
        called = _one_line(path.name or str(path))
        data = _file_bytes(path, called if name is None else name)
    called = called if name is None else _one_line(name)
    most = int(ARTWORK["file_bytes"].value)
    if len(data) > most:
        raise ArtworkError(f"{called}: is larger than the {most // 1000} kB allowed; simplify the drawing")
    if data[:2] == b"\x1f\x8b":
        raise ArtworkError(f"{called}: is compressed; save it as plain SVG")
    return data, called


def _one_line(text: str) -> str:
    return "".join(char if char.isprintable() else "?" for char in text[:80])


def _file_bytes(path: Path, called: str) -> bytes:
    try:
        # asked before opening: a pipe would keep the reader waiting for ever
        is_file = stat.S_ISREG(path.stat().st_mode)
    except OSError as error:
        raise ArtworkError(f"{called}: cannot be read ({error.strerror})") from None
    except ValueError:  # a NUL in the name
        raise ArtworkError(f"{called}: is not the name of a file") from None
    if not is_file:
        raise ArtworkError(f"{called}: is not a file")
    try:
        with path.open("rb") as file:
            return file.read(int(ARTWORK["file_bytes"].value) + 1)
    except OSError as error:
        raise ArtworkError(f"{called}: cannot be read ({error.strerror})") from None


class _Counting(TreeBuilder):
    """Builds the tree, and gives up as soon as it grows past the limits."""

    def __init__(self, called: str) -> None:
        super().__init__()
        self._called, self._depth, self._count = called, 0, 0

    def start(self, tag: Any, attrs: Any, /) -> Element:
        self._depth += 1
        self._count += 1
        if self._depth > ARTWORK["depth"].value:
            raise ArtworkError(
                f"{self._called}: elements are nested deeper than the {ARTWORK['depth'].value:g} levels allowed; "
                "ungroup the drawing"
            )
        if self._count > ARTWORK["elements"].value:
            raise ArtworkError(
                f"{self._called}: holds more than the {ARTWORK['elements'].value:g} elements allowed; simplify it"
            )
        return super().start(tag, attrs)

    def end(self, tag: Any, /) -> Element:
        self._depth -= 1
        return super().end(tag)


class _PlainParser(DefusedXMLParser):
    """Refuses entities, external references and document types that declare anything.

    A bare ``<!DOCTYPE svg PUBLIC ...>``, as older drawing programs write it, declares nothing and is never
    fetched: it passes.
    """

    def defused_start_doctype_decl(
        self, name: str, sysid: str | None, pubid: str | None, has_internal_subset: int
    ) -> None:
        if has_internal_subset:
            raise DTDForbidden(name, sysid, pubid)


def parsed_tree(data: bytes, called: str) -> Element:
    """Parse a drawing.

    Raises:
        ArtworkError: If it is not well-formed XML, is not an SVG drawing, declares entities or refers to other
            files from its document type, or is past the limits for depth and number of elements.
    """
    parser = _PlainParser(target=_Counting(called), forbid_dtd=True, forbid_entities=True, forbid_external=True)
    try:
        parser.feed(data)
        root = parser.close()
    except ArtworkError:
        raise
    except DefusedXmlException:
        raise ArtworkError(
            f"{called}: has a document type with declarations in it; delete everything from <!DOCTYPE to ]>"
        ) from None
    except ParseError as error:
        raise ArtworkError(f"{called}: is not well-formed XML ({_one_line(str(error))})") from None
    except (ValueError, LookupError, AssertionError):  # unknown encodings; a target that never got an element
        raise ArtworkError(f"{called}: cannot be read as XML") from None
    if not isinstance(root, Element) or local_name(root) != "svg":
        what = f"it begins with <{_one_line(str(getattr(root, 'tag', '')).rpartition('}')[2])}>"
        raise ArtworkError(f"{called}: is not an SVG drawing; {what}")
    return root


def local_name(element: Element) -> str:
    """Name of an SVG element without its namespace; empty for elements of other namespaces and comments.

    A drawing that leaves the namespace out altogether is taken at its word.
    """
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    space, _, local = tag.rpartition("}")
    return local if space in ("", "{" + SVG) else ""


def link_of(element: Element) -> str:
    """What an element's ``href`` (or the older ``xlink:href``) says; empty if it has none."""
    return (element.get("href") or element.get(XLINK_HREF) or "").strip()


def labelled(root: Element) -> Iterator[tuple[Element, str]]:
    """Every element with a name for messages: ``#id``, or its kind and number in the file such as ``path#3``."""
    counts: dict[str, int] = {}
    for element in root.iter():
        local = local_name(element)
        counts[local] = counts.get(local, 0) + 1
        mark = _one_line(element.get("id", "").strip()[:40])
        yield element, f"#{mark}" if mark else f"{_one_line(local[:40])}#{counts[local]}"
