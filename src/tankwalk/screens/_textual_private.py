"""Every use of a Textual private, with the reason; looked over at each upgrade of Textual.

Checked against textual 8.2.8.
"""

from __future__ import annotations

import codecs
import functools
import sys
from typing import Any


def forgive_bad_bytes() -> None:
    """One byte that is not UTF-8 on the keyboard must not end the program.

    The driver decodes strictly and its thread dies on the first bad byte; here such a byte
    becomes U+FFFD, which a screen can name.
    """
    if sys.platform == "win32":
        return
    from textual.drivers import linux_driver

    def decoder(name: str) -> functools.partial[Any]:
        return functools.partial(codecs.getincrementaldecoder(name), errors="replace")

    vars(linux_driver)["getincrementaldecoder"] = decoder
