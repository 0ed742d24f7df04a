"""What a report shows, finished: every sentence, number and picture as text. Templates only lay it out."""

from reportgen.view.build import Draw, build_view
from reportgen.view.edition import EDITIONS, FULL, FUNDER, edition_values
from reportgen.view.parts import FigureView, ReportView

__all__ = ["EDITIONS", "FULL", "FUNDER", "Draw", "FigureView", "ReportView", "build_view", "edition_values"]
