"""Live feed on the command line: the page, one batch, or the batches a tank was fed from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import page
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse

    from tankwalk.pages.lines import Line
    from tankwalk.practice.live_feed import BatchView, FedView, LiveFeedView
    from tankwalk.practice.site import Site


def livefeed(arguments: argparse.Namespace) -> int:
    """Print live feed, or what a name stands for; Refusal where nothing has that name."""
    title = f"BATCH {arguments.name}" if arguments.name else "LIVE FEED"
    return page(
        arguments,
        title,
        lambda site: _read(site, arguments.name),
        _lines,
        as_json=_as_json,
    )


def _as_json(view: LiveFeedView | BatchView | FedView) -> dict[str, object]:
    """The value with the sums that its page tells."""
    from tankwalk.practice import live_feed

    if isinstance(view, live_feed.LiveFeedView):
        return {**view._asdict(), "together": view.ahead.together}
    if isinstance(view, live_feed.FedView):
        return {**view._asdict(), "batches": live_feed.by_batch(view.trace)}
    return view._asdict()


def _read(site: Site, name: str | None) -> LiveFeedView | BatchView | FedView:
    from tankwalk.practice import live_feed

    if name is None:
        return live_feed.live_feed(site)
    found = live_feed.batch_view(site, name) or live_feed.fed_view(site, name)
    if found is None:
        raise Refusal(f"{name[:20]!r} is no batch, no tank and no treatment here.")
    return found


def _lines(view: LiveFeedView | BatchView | FedView, width: int) -> list[Line]:
    from tankwalk.pages import batch, livefeed
    from tankwalk.practice.live_feed import BatchView, LiveFeedView

    if isinstance(view, LiveFeedView):
        return livefeed.draw(view, width, None)
    return batch.draw(view, width) if isinstance(view, BatchView) else batch.draw_fed(view, width)
