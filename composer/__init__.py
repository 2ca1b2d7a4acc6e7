"""Sleevewright's core: geometry, plan, composing, filling, printing."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""Said before numpy is loaded: our matrices are small, and threads that wait for one another took most of the time of
a chest's first layout. One thread also rounds alike on any number of cores."""
