"""`python -m matref` is the command."""

import sys

from matref.cli import main

if __name__ == "__main__":
    sys.exit(main())
