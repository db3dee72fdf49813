"""Run the command line with ``python -m drybox``."""

import sys

from drybox.cli import main

if __name__ == "__main__":
    sys.exit(main())
