"""``python -m harnessdrc``."""

import sys

from harnessdrc.cli import main

sys.exit(main())
