"""Drawings of a plan.

Every ``plot_...`` draws into the axes it is given (or a figure of its own), returns them and saves nothing;
`plan_figure` composes the whole picture and `save_figure` writes it.
"""

from __future__ import annotations

from planner.report.drawings_counterweight import plot_counterweight
from planner.report.drawings_plan import plan_figure
from planner.report.drawings_save import save_figure
from planner.report.drawings_side import plot_side_view
from planner.report.drawings_vectors import plot_plane_vectors

__all__ = ["plan_figure", "plot_counterweight", "plot_plane_vectors", "plot_side_view", "save_figure"]
