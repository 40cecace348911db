"""A round from paper in words: who walked it, when, and who typed it in."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.plan.model import Plan
from tankwalk.practice.round.view import WalkView


def begun_words(seen: WalkView) -> str:
    """What is typed in, said once as one begins."""
    return (
        f"{seen.label} of {seen.opened.short()} from paper, walked by {seen.who}, typed in by "
        f"{seen.typist}. {seen.done} of {seen.asked} done."
    )


def twice_words(plan: Plan) -> str:
    """What is typed a second time from paper, and why: by the plan, of what its rounds ask."""
    asked = {
        code for one in plan.checklists for code in (one.glance, *one.site, *one.loop, *one.tank)
    }
    labels = [item.label for item in plan.items if item.twice and item.code in asked]
    labels += ["the amount of a dose"] if plan.products else []
    if not labels:
        return "The plan has nothing typed twice."
    return f"Typed twice, as a slip there is seen by nothing else: {', '.join(labels)}."


def typed_in(typist: str, recorded: Instant, now: Instant) -> str:
    """That something was typed in from paper, by whom and when."""
    return f"transcribed by {typist} {recorded.told(now)}"
