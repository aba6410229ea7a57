"""``python -m loopwright`` is the same as ``loopwright``."""

import sys

from loopwright.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
