"""Settings for all tests: the same examples on every machine, and no file left behind."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

# Deterministic: no random seed, no time limit that a slow laptop would miss, no example store.
settings.register_profile(
    "backprobe",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("backprobe")
