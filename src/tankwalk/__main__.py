"""`python -m tankwalk`: the same as the command `tankwalk`."""

import sys

from tankwalk.cli import main

sys.exit(main())
