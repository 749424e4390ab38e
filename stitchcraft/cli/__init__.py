"""The command line: parses, calls, prints, sets the exit status. Nothing else in the package prints.

Exit status: 0 done; 1 done, but an error-level finding stands; 2 the input cannot be used and nothing was
written; 3 a fault of the program itself; 130 stopped before it was done.
"""

from __future__ import annotations

import atexit
import contextlib
import gc
import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final, NoReturn

import click

from stitchcraft.cli.commands import DONE, FAULT, UNUSABLE, cli
from stitchcraft.errors import StitchcraftError

__all__ = ["main"]

TRACE: Final = "STITCHCRAFT_TRACE"
STOPPED: Final = 130
_OBJECTS_MADE: Final = 50_000


class _Stopped(BaseException):
    """The system has asked us to end: everything on the way out cleans up after itself."""


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit status.

    Args:
        arguments: What was typed after the program's name; None takes it from the process.
    """
    _open_closed_streams()
    # numpy starts a thread for each core, for large matrices, which nothing here multiplies: half of its start
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # what a command loads stays to its end: looking through it for garbage again and again is a tenth of a quick one
    gc.set_threshold(_OBJECTS_MADE, 20, 20)
    atexit.register(gc.freeze)  # and so is looking through it once more on the way out
    stdout = sys.stdout
    try:
        with _stoppable():
            status = cli.main(args=arguments, prog_name="stitchcraft", standalone_mode=False)
    except (click.exceptions.Abort, KeyboardInterrupt, _Stopped):
        _say("stopped; nothing half-made is left")
        sys.exit(STOPPED)
    except SystemExit:
        if sys.stdout is not stdout:
            sys.exit(DONE)  # click has put it away: whoever read our output has gone, and there is nothing more to say
        raise
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()  # a whole page, not one line
        sys.exit(UNUSABLE)
    except click.ClickException as error:
        _say(error.format_message())
        sys.exit(UNUSABLE)
    except StitchcraftError as error:
        _say(str(error))
        sys.exit(UNUSABLE)
    except OSError as error:
        if os.environ.get(TRACE):
            raise
        place = "the output" if error.filename is None else error.filename
        _say(f"{place}: cannot be written or read: {error.strerror or error}")
        sys.exit(UNUSABLE)
    except Exception as error:  # a maker at the machine has no use for a traceback
        if os.environ.get(TRACE):
            raise
        what = _one_line(f"{type(error).__name__}: {error}")[:300]
        _say(f"a fault of the program, not of your input: {what} ({TRACE}=1 shows where)")
        sys.exit(FAULT)
    sys.exit(status if isinstance(status, int) else DONE)


@contextlib.contextmanager
def _stoppable() -> Iterator[None]:
    """Leave in good order when the system asks us to end, or the terminal is closed."""
    names = ("SIGTERM", "SIGHUP")  # the second is not known everywhere
    asked = [getattr(signal, name) for name in names if hasattr(signal, name)]
    # only the main thread may, and who has us ignore a signal means it
    heeded = [one for one in asked if _is_main_thread() and signal.getsignal(one) is signal.SIG_DFL]
    for one in heeded:
        signal.signal(one, _stop)
    try:
        yield
    finally:
        for one in heeded:
            signal.signal(one, signal.SIG_DFL)


def _is_main_thread() -> bool:
    return threading.current_thread() is threading.main_thread()


def _stop(*_: object) -> NoReturn:
    raise _Stopped


def _open_closed_streams() -> None:
    """Open what was closed before we began, or the first file of a kit would take its number and get what is said."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open(mode, encoding="utf-8"))  # noqa: SIM115 - open as long as we live


def _say(text: str) -> None:
    with contextlib.suppress(OSError):  # there is nobody left to tell
        click.echo(f"stitchcraft: {_one_line(text)}", err=True)


def _one_line(text: str) -> str:
    return " ".join(text.split())
