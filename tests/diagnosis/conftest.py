"""Lets the tests of this folder share `discrete`."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
