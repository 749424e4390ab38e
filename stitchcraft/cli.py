"""The command line."""


def main() -> None:
    """Parse and run."""
