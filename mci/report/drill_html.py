"""The sheets of a drill, each as one HTML text that needs nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mci.report.drill_cards import build_cards
from mci.report.drill_controllers import build_controllers
from mci.report.drill_key import build_key
from mci.report.drill_players import build_players
from mci.report.figures.compose_drill import draw_cover, draw_timeline
from mci.report.html import fill_template

if TYPE_CHECKING:
    from mci.drills.result import Drill

__all__ = ["cards_html", "controllers_html", "key_html", "players_html"]

_STYLES = ("report.css", "drill.css")


def players_html(drill: Drill) -> str:
    """Make the players' briefing, safety plan, log and gauge sheets."""
    return fill_template("drill_players.html.j2", build_players(drill), {}, _STYLES)


def cards_html(drill: Drill) -> str:
    """Make the casualty cards."""
    return fill_template("drill_cards.html.j2", build_cards(drill), {}, (*_STYLES, "drill_cards.css"))


def controllers_html(drill: Drill) -> str:
    """Make the book of controllers and evaluators."""
    figures = {"timeline": draw_timeline(drill)}
    return fill_template("drill_controllers.html.j2", build_controllers(drill), figures, _STYLES)


def key_html(drill: Drill) -> str:
    """Make the answer key."""
    return fill_template("drill_key.html.j2", build_key(drill), {"cover": draw_cover(drill)}, _STYLES)
