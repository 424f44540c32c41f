"""``python -m wedgelab`` and the ``wedgelab`` command."""

import sys


def main() -> None:
    """Run the command line and leave with its exit code."""
    try:
        from wedgelab.cli.main import run  # inside: an interrupt while it loads is one line too

        code = run()
    except KeyboardInterrupt:
        sys.stderr.write("wedgelab: error: interrupted; what was stored stays stored\n")
        code = 130
    sys.exit(code)


if __name__ == "__main__":
    main()
