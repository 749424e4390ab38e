"""Pictures: thread as it lies on the cloth, the plan with its stops numbered, the bag with its parts in place."""

from stitchcraft.view.bagview import BagPicture, PlacedPlan, bag_picture
from stitchcraft.view.canvas import Canvas
from stitchcraft.view.comparison import comparison_png, comparison_svg
from stitchcraft.view.density import density_picture
from stitchcraft.view.player import PlayerPart, player_html
from stitchcraft.view.svg import ClothPatch, patch_under, plan_svg
from stitchcraft.view.thread import cloth_for, draw_thread, thread_picture

__all__ = [
    "BagPicture",
    "Canvas",
    "ClothPatch",
    "PlacedPlan",
    "PlayerPart",
    "bag_picture",
    "cloth_for",
    "comparison_png",
    "comparison_svg",
    "density_picture",
    "draw_thread",
    "patch_under",
    "plan_svg",
    "player_html",
    "thread_picture",
]
