"""Tuning of the C library's allocator, to return unused memory to the system.

By default glibc gives every thread its own arena, and each time a large block is freed it raises
the threshold above which blocks are mmapped. Answers of several megabytes then leave holes in every
arena, which are never returned to the system.
"""

from __future__ import annotations

import ctypes

M_MMAP_THRESHOLD, M_ARENA_MAX = -3, -8
"""Option numbers from glibc's <malloc.h>."""
MAPPED_FROM = 262_144
ARENAS = 2


def tight_allocator() -> bool:
    """Limit the number of arenas, and fix the mmap threshold.

    Returns:
        True if the C library accepted it; only glibc knows these options.
    """
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):
        return False
    return bool(mallopt(M_ARENA_MAX, ARENAS) and mallopt(M_MMAP_THRESHOLD, MAPPED_FROM))
