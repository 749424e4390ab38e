"""The command line: parses, calls, prints, sets the exit status. Nothing else in the package prints.

Exit status: 0 done; 1 done, but an error-level finding stands; 2 the input cannot be used and nothing was
written; 3 a fault of the program itself.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Final, NoReturn

import click

from stitchcraft.cli.commands import DONE, FAULT, UNUSABLE, cli
from stitchcraft.errors import StitchcraftError

__all__ = ["main"]

TRACE: Final = "STITCHCRAFT_TRACE"


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit status.

    Args:
        arguments: What was typed after the program's name; None takes it from the process.
    """
    try:
        status = cli.main(args=arguments, prog_name="stitchcraft", standalone_mode=False)
    except click.exceptions.Abort:
        click.echo("stopped; nothing was written", err=True)
        sys.exit(130)
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()  # a whole page, not one line
        sys.exit(UNUSABLE)
    except click.ClickException as error:
        click.echo(f"stitchcraft: {_one_line(error.format_message())}", err=True)
        sys.exit(UNUSABLE)
    except StitchcraftError as error:
        click.echo(f"stitchcraft: {_one_line(str(error))}", err=True)
        sys.exit(UNUSABLE)
    except BrokenPipeError:
        # whoever read our output has gone: nothing more to say to it
        sys.stderr.close()
        sys.exit(DONE)
    except Exception as error:  # a maker at the machine has no use for a traceback
        if os.environ.get(TRACE):
            raise
        what = _one_line(f"{type(error).__name__}: {error}")[:300]
        click.echo(f"stitchcraft: a fault of the program, not of your input: {what} ({TRACE}=1 shows where)", err=True)
        sys.exit(FAULT)
    sys.exit(status if isinstance(status, int) else DONE)


def _one_line(text: str) -> str:
    return " ".join(text.split())
