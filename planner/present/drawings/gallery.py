"""Drawings of a plan.

Every ``plot_...`` draws into the axes it is given (or a figure of its own), returns them and saves nothing;
`plan_figure` composes the whole picture and `save_figure` writes it.
"""

from __future__ import annotations

from planner.present.drawings.counterweight import plot_counterweight
from planner.present.drawings.plan import plan_figure
from planner.present.drawings.save import save_figure
from planner.present.drawings.side import plot_side_view
from planner.present.drawings.vectors import plot_plane_vectors

__all__ = ["plan_figure", "plot_counterweight", "plot_plane_vectors", "plot_side_view", "save_figure"]
