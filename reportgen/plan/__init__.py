"""Before a trial: will the gas last until the ice is solid, and what does it take? Each answer with its range."""

from reportgen.plan.answers import Answer
from reportgen.plan.asked import Asked
from reportgen.plan.forecast import Plan, make_plan
from reportgen.plan.past import PastRun, read_past

__all__ = ["Answer", "Asked", "PastRun", "Plan", "make_plan", "read_past"]
