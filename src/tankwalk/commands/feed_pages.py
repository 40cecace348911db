"""Pages of feed printed: what was planned and given in some days."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from tankwalk.commands.common import on_paper, open_site_of, printed

if TYPE_CHECKING:
    import argparse

    from tankwalk.practice.site import Site


def week(arguments: argparse.Namespace) -> int:
    """Print the feed of some days of a tank or treatment, planned beside given."""
    from tankwalk.pages import feed_week as page
    from tankwalk.pages.lines import plain
    from tankwalk.practice.feeding.week import Week, as_json
    from tankwalk.practice.feeding.week import week as days_of

    def read(site: Site) -> Week:
        return days_of(site, arguments.week, arguments.days)

    if arguments.json:
        site = open_site_of(arguments)
        print(json.dumps(as_json(read(site)), indent=2, ensure_ascii=False))
        site.close()
        return 0
    if arguments.html is None:
        return printed(arguments, lambda site, width: plain(page.draw(read(site), width)))
    from tankwalk.pages import week_html
    from tankwalk.practice.round.paper_round import last_entry

    return on_paper(arguments, lambda site: week_html.week(read(site), last_entry(site)))
