"""A closure tab whose tip is a line of the maker's own: a willow leaf that leans to one side."""

import numpy as np

from stitchcraft import ClosureTab, Echo, Hoop, Snap, check, plan, save

# from the left shoulder round to the right one, in any scale: the tab stretches it to its own width
left = np.array([(-10.0, 0.0), (-9.6, -4.0), (-8.0, -8.0), (-5.0, -11.5), (-1.0, -14.0)])
right = np.array([(3.0, -15.0), (5.5, -12.5), (8.0, -9.0), (9.5, -5.0), (10.0, 0.0)])
tab = ClosureTab(
    width="2 1/2 in", length="4 3/4 in", tip=np.vstack([left, right]), tip_radius=4,
    snap=Snap(diameter=14, inset="1 1/4 in"), decoration=Echo(pitch=5),
)  # fmt: skip
for design in (tab.back(), tab.front()):
    stitches = plan(design, fabric="canvas")
    for finding in (*tab.findings(), *check(stitches, hoop=Hoop(130, 180))):
        print(finding)
    saved = save(stitches, f"willow-{design.name}.dst")
    print(f"{saved.path}: {stitches.stitches:,} stitches, none more than {saved.proof.max_shift_mm:.2f} mm off")
