"""The plover pouch: a whole kit from a few lines of Python."""

from stitchcraft import Bag, Clamshell, Edge, Family, Machine, Palette, Style, build_kit, write_kit

bag = Bag(width="9 in", height="7 in", depth="2 in", top="turned")
style = Style(decoration=Clamshell(pitch=12), edge=Edge(width=3), palette=Palette(accent="#2b5f75", edge="#c9913d"))
family = Family(bag=bag, style=style, tab={"tip": "leaf"}, name="Plover pouch")
kit = build_kit(family, Machine(hoops=["130x180"], formats=["dst", "pes"]))
write_kit(kit, "plover-pouch")
for part in kit.parts:
    print(f"{part.name:16} {part.plan.stitches:6,} stitches in the {part.hooped.hoop} field")
print("all proofs hold" if all(proof.ok for proof in kit.proofs) else "a proof FAILS")
