"""What the figures were measured on."""

from __future__ import annotations

import ctypes
import os
import platform
from pathlib import Path

import numpy as np
import scipy

from bench.figures import Figures, print_table, shown


def machine() -> Figures:
    """Processor, memory, versions and the linear-algebra library with its threads."""
    blas = np.show_config(mode="dicts")["Build Dependencies"]["blas"]
    figures: Figures = {
        "cpu": _cpu_model(),
        "cores": len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1,
        "memory_gb": _memory_gigabytes(),
        "system": platform.platform(),
        "python": platform.python_version(),
        "numpy": np.__version__,
        "scipy": scipy.__version__,
        "blas": f"{blas.get('name', 'unknown')} {blas.get('version', '')}".strip(),
        "blas_threads": _blas_threads(),
    }
    print_table("Machine", [(key.replace("_", " "), shown(value)) for key, value in figures.items()])
    return figures


def _cpu_model() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor() or platform.machine()
    models = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return models[0] if models else platform.machine()


def _memory_gigabytes() -> float:
    try:
        return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / 1e9
    except (ValueError, OSError):
        return float("nan")


def _blas_threads() -> int | str:
    """Ask the library that numpy loaded; where it cannot be asked, say what it was told."""
    folder = Path(np.__file__).resolve().parents[1] / "numpy.libs"
    for path in sorted(folder.glob("*openblas*")):
        library = ctypes.CDLL(str(path))
        for name in ("scipy_openblas_get_num_threads64_", "openblas_get_num_threads"):
            if hasattr(library, name):
                return int(getattr(library, name)())
    return f"told {os.environ.get('OPENBLAS_NUM_THREADS', 'nothing')}"
