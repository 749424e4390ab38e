"""From a design to stitches: running, triple, satin, fill, locks, travel, order."""
