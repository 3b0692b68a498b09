import sys
from pathlib import Path

# The scripts are no package: they find each other beside themselves.
sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "scripts"))
