"""``python -m wedgelab`` and the ``wedgelab`` command."""

import sys

from wedgelab.cli.main import run


def main() -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(run())


if __name__ == "__main__":
    main()
