"""The standard uncertainties of drilling and reading, and what is known to be off on average."""

from __future__ import annotations

from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class ErrorModel:
    """Standard uncertainties (one sigma), lengths [mm], angles [deg], masses [g], unbalance [g*mm].

    The defaults are those of a manual drill press with a degree wheel and an ordinary balancing machine (common
    practice).  ``reading_absolute_gmm`` is what a reading is uncertain by however small it is, per component of the
    vector in a plane: display steps and the machine's own noise.

    ``rim_cut_mm`` is that of metal taken off the rim on a lathe or mill with a dial gauge, which keeps its depth better than a
    drill press.

    The biases are means, 0 unless stated: depths come out ``depth_bias_mm`` deeper than the stop says, holes
    ``diameter_bias_mm`` wider than drill and ``hole_oversize`` say, cuts ``angle_bias_deg`` ahead in the crankshaft frame.
    """

    depth_mm: float = 0.25
    rim_cut_mm: float = 0.05
    angle_deg: float = 1.0
    diameter_mm: float = 0.05
    radius_mm: float = 0.3
    density_percent: float = 0.5
    reading_percent: float = 1.5
    reading_angle_deg: float = 0.5
    reading_absolute_gmm: float = 5.0
    bob_mass_g: float = 0.3
    depth_bias_mm: float = 0.0
    diameter_bias_mm: float = 0.0
    angle_bias_deg: float = 0.0
