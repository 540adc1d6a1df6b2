"""Tuning of the C library's allocator, to return unused memory to the system.

By default glibc gives every thread its own arena, and each time a large block is freed it raises
the threshold above which blocks are mmapped. Answers of several megabytes then leave holes in every
arena. Holes amid used memory are returned only on request; without it a worker held 14 MB of them
after 100,000 requests.
"""

from __future__ import annotations

import ctypes
import gc
from collections.abc import Mapping

M_MMAP_THRESHOLD, M_ARENA_MAX = -3, -8
"""Option numbers from glibc's <malloc.h>."""
MAPPED_FROM = 262_144
ARENAS = 2
OLDEST = 2
"""The generation of Python's garbage collector that a full collection ends with."""


def tight_allocator() -> bool:
    """Limit the number of arenas, fix the mmap threshold, and return unused pages now and then.

    Returns:
        True if the C library accepted it; only glibc knows these options.
    """
    try:
        library = ctypes.CDLL(None)
        mallopt, trim = library.mallopt, library.malloc_trim
    except (OSError, AttributeError):
        return False

    def return_unused(phase: str, about: Mapping[str, int]) -> None:
        """Return all unused pages after a full collection, which is rare."""
        if phase == "stop" and about["generation"] == OLDEST:
            trim(0)

    gc.callbacks.append(return_unused)
    return bool(mallopt(M_ARENA_MAX, ARENAS) and mallopt(M_MMAP_THRESHOLD, MAPPED_FROM))
