"""The C library's allocator, told to keep little of what a worker no longer uses.

By default glibc gives every thread an arena of its own and raises the size from which a block is
mapped by itself with each large block that is freed. Answers of several megabytes then leave holes
in every arena, which never go back to the system.
"""

from __future__ import annotations

import ctypes

M_MMAP_THRESHOLD, M_ARENA_MAX = -3, -8
"""Numbers of options in glibc's <malloc.h>."""
MAPPED_FROM = 262_144
ARENAS = 2


def tight_allocator() -> bool:
    """Limit the arenas, and map large blocks by themselves.

    Returns:
        whether the C library took it; only glibc knows these options.
    """
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):
        return False
    return bool(mallopt(M_ARENA_MAX, ARENAS) and mallopt(M_MMAP_THRESHOLD, MAPPED_FROM))
