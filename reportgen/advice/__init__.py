"""What a day's gas can do in one household: hours of cold, minutes of cooking, and the feed and fuel behind them."""

from reportgen.advice.model import Advice, make_advice
from reportgen.advice.trial import advice_of_trial, advice_section
from reportgen.advice.words import advice_document, advice_page

__all__ = ["Advice", "advice_document", "advice_of_trial", "advice_page", "advice_section", "make_advice"]
