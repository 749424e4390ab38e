"""A kit at a glance, as HTML tables: parts, proofs, findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from stitchcraft.errors import Finding, findings_html
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.machine import Machine, Proof, minutes
from stitchcraft.markup import html_table


def summary_html(
    name: str,
    parts: Sequence[SewnPart],
    proofs: Sequence[Proof],
    findings: Sequence[Finding],
    machine: Machine,
    *,
    pieces: Mapping[str, int] | None = None,
) -> str:
    """Show what a kit holds; whatever its names hold is shown as text.

    Args:
        name: Of the bag.
        parts: Its parts.
        proofs: What was measured on the files read back.
        findings: What the checks say.
        machine: Its speed says how long a part takes.
        pieces: In how many pieces parts are sewn that no field takes whole, by name.
    """
    divided = pieces if pieces is not None else {}
    part_rows = [
        (
            one.name,
            _field(one, divided.get(one.name, 0)),
            len(one.plan.stops),
            f"{one.plan.stitches:,}",
            f"{minutes(one.plan, machine):.1f}",
            ", ".join(one.data),
        )
        for one in parts
    ]
    proof_rows = [
        (
            proof.code,
            f"{proof.measured:g} {proof.unit}",
            f"at most {proof.limit:g} {proof.unit}",
            "holds" if proof.ok else "FAILS",
            ", ".join(proof.parts),
        )
        for proof in proofs
    ]
    return "\n".join(
        [
            html_table(("part", "field, mm", "stops", "stitches", "minutes", "files"), part_rows, caption=name),
            html_table(
                ("proof", "measured", "allowed", "", "on"), proof_rows, caption="Measured on the files read back"
            ),
            findings_html(findings, caption="Findings"),
        ]
    )


def _field(one: SewnPart, pieces: int) -> str:
    if pieces:
        return f"in {pieces} hoopings"
    return "none large enough" if one.hooped.hoop is None else one.hooped.hoop.name
