"""Trials beside each other: like with like, with what repeats tell and what they do not."""

from reportgen.comparison.compare import Comparison, compare
from reportgen.comparison.row import TrialRow, row_of

__all__ = ["Comparison", "TrialRow", "compare", "row_of"]
