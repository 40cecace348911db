"""What the command line did not understand, in one sentence."""

from __future__ import annotations

import re
from difflib import get_close_matches

from tankwalk import text

_SAID = (
    (r"argument (\S+): invalid int value: (.+)", "{0} takes a whole number, not {1}."),
    (r"argument (\S+): invalid float value: (.+)", "{0} takes a number, not {1}."),
    (r"argument (\S+): expected .+", "{0} needs something after it."),
    (r"unrecognized arguments: (.+)", "'{0}' is not understood here."),
    (r"the following arguments are required: (.+)", "{0} is missing."),
)
"""What argparse says, and how it is said here."""


def sentence(message: str) -> str:
    """What argparse complains of; its own words where they are none of those that are known."""
    message = text.fit(text.clean(message, limit=1_000_000), 400)
    for pattern, words in _SAID:
        if found := re.fullmatch(pattern, message):
            return words.format(*found.groups())
    found = re.fullmatch(r"argument (\S+): invalid choice: '(.*)' \(choose from (.+)\)", message)
    if found is None:
        return f"{message[:1].upper()}{message[1:].rstrip('.')}."
    name, typed, listed = found.groups()
    choices = [one.strip("' ") for one in listed.split(",")]
    if name == "COMMAND":
        near = get_close_matches(typed, choices, 1)
        return f"'{typed}' is not a command{f': {near[0]}?' if near else '.'}"
    return f"{name} takes {' or '.join(choices)}, not '{typed}'."
