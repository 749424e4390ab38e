"""Many kits of one design: every size, field, format and colourway, on all cores or on a cluster."""

from stitchcraft.catalogue.engine import cluster, local
from stitchcraft.catalogue.making import Catalogue, make_catalogue
from stitchcraft.catalogue.records import Record
from stitchcraft.catalogue.variants import Variants, read_variants

__all__ = ["Catalogue", "Record", "Variants", "cluster", "local", "make_catalogue", "read_variants"]
