"""Run the command line: ``python -m stitchcraft``."""

from stitchcraft.cli import main

main()
