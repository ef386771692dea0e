"""Speed and memory, measured on the machine at hand: ``python -m bench``."""

import os

# Before numpy is loaded anywhere: one thread, so that both sides of a comparison use the same.
# Threads are added where a figure says so.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"
