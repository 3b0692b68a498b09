"""Helpers of several test folders need a place on the path: modules are imported by path alone."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
