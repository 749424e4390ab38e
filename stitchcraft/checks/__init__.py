"""A plan or a file in, findings out. Checks never print and never raise for a bad design."""

from stitchcraft.checks.files import check_file
from stitchcraft.checks.stitches import check

__all__ = ["check", "check_file"]
