"""``python -m evenrow`` is the `evenrow` command."""

import sys

from evenrow.cli import main

if __name__ == "__main__":
    sys.exit(main())
