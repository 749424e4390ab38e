"""From a family to sewn parts: planned, laid in the hoop, encoded and read back. Nothing is written here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from stitchcraft.checks import check
from stitchcraft.checks.formats import name_findings
from stitchcraft.design import StitchPlan
from stitchcraft.errors import Finding, Findings, Level
from stitchcraft.family import Family, Part
from stitchcraft.kit.cloth import basting_findings, cloth_under
from stitchcraft.kit.hooping import Hooped, hoop_findings, hoop_parts
from stitchcraft.kit.hooping_options import HoopingOptions
from stitchcraft.kit.hooping_plan import HoopingPlan, plan_hoopings
from stitchcraft.kit.place_findings import place_findings
from stitchcraft.kit.proofs import kit_proofs
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.kit.split_files import split_findings
from stitchcraft.kit.summary import summary_html
from stitchcraft.machine import Machine, Proof, decode, encode, prove
from stitchcraft.machine.costs import Prices
from stitchcraft.stitching import plan
from stitchcraft.units import lengths_said_in


@dataclass(frozen=True, slots=True, eq=False)
class Kit:
    """All that is made for one bag.

    Attributes:
        family: What it was made from.
        machine: What will sew it.
        parts: The parts in the order of the work.
        proofs: What was measured on the files read back.
        findings: What the checks say.
        hoopings: How often the frame is loaded, and with what.
        prices: What a unit of each material costs; None for no costs.
    """

    family: Family
    machine: Machine
    parts: tuple[SewnPart, ...]
    proofs: tuple[Proof, ...]
    findings: Findings
    hoopings: HoopingPlan
    prices: Prices | None = None

    @property
    def ok(self) -> bool:
        """Whether no error stands."""
        return self.findings.ok

    def __getitem__(self, name: str) -> SewnPart:
        return next(part for part in self.parts if part.name == name)

    def __repr__(self) -> str:
        holding = sum(proof.ok for proof in self.proofs)
        return (
            f"<Kit {self.family.name!r}: {len(self.parts)} parts, {holding} of {len(self.proofs)} proofs hold, "
            f"{len(self.findings)} findings>"
        )

    def _repr_html_(self) -> str:
        """Show its parts, proofs and findings in a notebook."""
        pieces = {one.part.name: len(one.pieces) for one in self.hoopings.split}
        return summary_html(self.family.name, self.parts, self.proofs, self.findings, self.machine, pieces=pieces)


def build_kit(
    family: Family,
    machine: Machine,
    *,
    basting: bool = False,
    margin: float = 0.0,
    hooping: HoopingOptions | None = None,
    prices: Prices | None = None,
    progress: Callable[[str], None] | None = None,
) -> Kit:
    """Make every part of a family and prove it from the bytes read back.

    Args:
        family: The bag and its style.
        machine: Fields, formats, speed.
        basting: Whether each hooping starts with a basting box.
        margin: Kept free inside the edge of the field, mm.
        hooping: Whether parts share hoopings, and how; None gives each its own.
        prices: What a unit of each material costs; None for no costs.
        progress: Called with the name of each part as it is begun.

    Raises:
        ParameterError: If a part cannot be made at all.
    """
    with lengths_said_in(family.units):
        return _built(family, machine, basting, margin, hooping or HoopingOptions(), prices, progress)


def _built(
    family: Family,
    machine: Machine,
    basting: bool,
    margin: float,
    options: HoopingOptions,
    prices: Prices | None,
    progress: Callable[[str], None] | None,
) -> Kit:
    parts = family.made()
    plans: dict[str, StitchPlan] = {}
    for part in parts:
        if progress is not None:
            progress(part.name)
        plans[part.name] = plan(
            part.design,
            fabric=family.style.fabric,
            trim_over=machine.trim_over,
            trims=machine.trims,
            basting=basting,
        )
    hooped = hoop_parts(parts, plans, machine.hoops, margin=margin)
    sewn = tuple(
        replace(
            _sewn(part, plans[part.name], hooped[part.name], machine.formats), cloth=cloth_under(part, family.style)
        )
        for part in parts
    )
    hoopings = plan_hoopings(family, machine, sewn, options, margin=margin)
    divided = {one.part.name: one for one in hoopings.split}
    # what is sewn in pieces is measured on them
    proofs = (
        *(proof for proof in kit_proofs(family, sewn) if not divided.keys() & set(proof.parts)),
        *(proof for proof in hoopings.proofs if divided.keys() & set(proof.parts)),
    )
    findings = [*family.findings()]
    for one in sewn:
        if one.name not in divided:
            findings += hoop_findings(one.name, one.plan, machine.hoops, margin=margin)
        if options.split and one.hooped.hoop is None:
            findings += split_findings(one, sewn, divided.get(one.name))
        findings += check(
            one.plan,
            fabric=family.style.fabric,
            cloth=one.cloth,
            formats=machine.formats,
            placement=one.hooped.placement,
        )
    names = [*(one.name for one in sewn), *(one.name for one in hoopings.hoopings if one.data)]
    findings += name_findings(names, machine.formats)
    findings += place_findings(family.bag, sewn)
    if basting:
        findings += basting_findings(family, sewn)
    measured = dict.fromkeys((*proofs, *hoopings.proofs))
    findings += [_finding_of(proof) for proof in measured if not proof.ok and not _said(proof, findings)]
    return Kit(family, machine, sewn, proofs, Findings(findings), hoopings, prices)


def _sewn(part: Part, stitches: StitchPlan, hooped: Hooped, formats: Sequence[str]) -> SewnPart:
    data, files, proofs = {}, {}, {}
    for fmt in formats:
        data[fmt] = encode(stitches, fmt, placement=hooped.placement, name=part.name)
        files[fmt] = decode(data[fmt], fmt, path=f"{part.name}.{fmt}")
        proofs[fmt] = prove(stitches, files[fmt], hooped.placement)
    return SewnPart(part, stitches, hooped, data, files, proofs)


def _said(proof: Proof, findings: Sequence[Finding]) -> bool:
    """Whether a finding has already told of what a proof found: the closure's miss, a part too large."""
    same = {"snap-mates": "closure-miss", "hoop-fit": "hoop-fit"}.get(proof.code)
    # a miss of the closure is the whole tab's, whichever of its parts it was measured on
    return any(finding.code == same and (same == "closure-miss" or finding.part in proof.parts) for finding in findings)


def _finding_of(proof: Proof) -> Finding:
    return Finding(
        Level.ERROR,
        proof.code,
        proof.parts[0],
        f"Measured on the files read back: {proof.measured:g} {proof.unit}, and at most {proof.limit:g} is allowed.",
        "Do not sew this kit; report the spec that led to it.",
        proof.measured,
        proof.limit,
    )
