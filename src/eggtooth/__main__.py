"""`python -m eggtooth`."""

import sys

from eggtooth.cli import main

sys.exit(main())
