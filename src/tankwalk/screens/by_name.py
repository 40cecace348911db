"""Every screen that is opened by its scope: which file and class of this room it is."""

from __future__ import annotations

SCREENS = {
    "board": "board.BoardScreen",
    "who": "who.WhoScreen",
    "handover": "handover.HandoverScreen",
    "open": "open_list.OpenScreen",
    "meters": "meters.MetersScreen",
    "workings": "workings.WorkingsScreen",
    "working": "workings.WorkingScreen",
    "pages": "page_list.PagesScreen",
    "feed": "feed.FeedScreen",
    "livefeed": "livefeed.LiveFeedScreen",
    "tomorrow": "feed_pages.TomorrowScreen",
    "ration": "feed_pages.RationScreen",
    "feedweek": "feed_pages.FeedWeekScreen",
    "count": "count.CountScreen",
    "guided": "guided.GuidedScreen",
    "samples": "samples.SamplesScreen",
    "stock": "stock.StockScreen",
    "tank": "tank.TankScreen",
    "find": "find.FindScreen",
    "sample": "sample.SampleScreen",
    "season": "season.SeasonScreen",
    "trial": "trial.TrialScreen",
    "transcribe": "transcribe.TranscribeScreen",
    "still": "still.StillScreen",
    "judging": "judging.JudgingScreen",
    "limit": "judging.LimitScreen",
}
"""Screens that are opened by their scope, each with its file and class in this room.

The walk, one meter and the help are opened with what they are about.
"""
