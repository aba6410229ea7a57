"""``python -m loopwright`` is the same as ``loopwright``."""

import multiprocessing
import sys

from loopwright.cli.main import main

if __name__ == "__main__":
    multiprocessing.freeze_support()
    sys.exit(main())
