"""The tests of Leastwise, and where their bytecode is kept.

Where no bytecode may be left beside the sources (``PYTHONDONTWRITEBYTECODE``) it is left in
pytest's own folder instead: else every worker, and every command in a process of its own, compiles
all that it imports, which takes longer than most tests.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

if sys.dont_write_bytecode:
    FOLDER = str(Path(__file__).resolve().parents[1] / ".pytest_cache" / "bytecode")
    sys.dont_write_bytecode, sys.pycache_prefix = False, FOLDER
    os.environ["PYTHONPYCACHEPREFIX"] = FOLDER  # for the processes that tests start
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
