"""Keeping freed memory at hand between chunks of arrays."""

from __future__ import annotations

import numpy as np

_BLOCK = 16 << 20  # bytes; the C library accepts up to 32 MiB


def keep_freed_memory() -> None:
    """Keeps the C library from handing the memory of every chunk back to the system.

    Arrays of a chunk are freed together, and by default glibc then returns their pages, so that
    the next chunk pays for each page anew: measured, five times the arithmetic itself. Once a
    large block was freed, glibc keeps up to twice its size (mallopt(3), M_MMAP_THRESHOLD). The
    block is never touched, so it takes no memory. Elsewhere this does nothing.
    """
    np.empty(_BLOCK, dtype=np.uint8)
