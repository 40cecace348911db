"""A calculator worked on the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import PRINT_WIDTH
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse


def calc(arguments: argparse.Namespace) -> int:
    """Work a calculator, or list them all."""
    from tankwalk import paths
    from tankwalk.clock import SystemClock, zone
    from tankwalk.pages import workings as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.workings import working_out

    if arguments.name is None:
        if arguments.json:
            _print_json(working_out.listed())
        else:
            print(plain(page.draw_list(PRINT_WIDTH)))
        return 0
    asked = working_out.calculator(arguments.name)
    if not arguments.inputs and not arguments.json:
        print(plain(page.draw_asked(asked, PRINT_WIDTH)))
        return 0
    typed: dict[str, str] = {}
    for words in arguments.inputs:
        key, equals, value = words.partition("=")
        if not equals:
            raise Refusal(f"{words[:40]!r} is no input: write it as KEY=VALUE.")
        if key in typed:
            raise Refusal(f"{key[:30]} is given twice.")
        typed[key] = value
    tz = zone(paths.local_zone(paths.environment()))
    done = working_out.work(asked.name, typed, SystemClock(tz).now().day)
    if arguments.json:
        _print_json(working_out.as_json(done))
    else:
        print(plain(page.draw_done(done, PRINT_WIDTH)))
    return 0


def _print_json(value: object) -> None:
    import json

    print(json.dumps(value, ensure_ascii=False, allow_nan=False))
