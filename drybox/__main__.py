"""Run the command line with ``python -m drybox``."""

import sys

if __name__ == "__main__":
    if not sys.flags.safe_path:
        del sys.path[0]  # the folder one stands in, where a numpy.py of one's own may lie
    from drybox.cli import main

    sys.exit(main())
