"""From a trial to its figures: each with uncertainty, basis, origin and working, or with the reason it is not given."""

from reportgen.figures.figure import Assumption, Figure
from reportgen.figures.results import Results, compute

__all__ = ["Assumption", "Figure", "Results", "compute"]
