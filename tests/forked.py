"""Another process of this very program, forked: what loads once need not load again."""

from __future__ import annotations

import os
import sys
import traceback
import warnings
from collections.abc import Callable


def forked(act: Callable[[], object]) -> int:
    """Another process that does this and ends, with 1 where it fails; its number."""
    sys.stdout.flush()
    with warnings.catch_warnings():
        # Python 3.12 warns of a fork beside other threads; this one uses none of theirs.
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child:
        return child
    status = 1
    try:
        act()
        sys.stdout.flush()
        status = 0
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
    finally:
        os._exit(status)
