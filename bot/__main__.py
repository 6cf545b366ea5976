"""`python -m bot COMMAND` is `brimful COMMAND`."""

import sys

from bot.cli import main

sys.exit(main())
