"""The names of what may be wrong in a figure, and of what was assumed for it, as they are said to people.

A name joins an error to the figures that share it, and stands in the results file; here it is put into words.
"""

from __future__ import annotations

from reportgen.calc.uncertainty import UNTAGGED
from reportgen.figures.budget import LOOKS
from reportgen.message import Message, say

SAID: dict[str, Message] = {
    UNTAGGED: say("unnamed source"),
    LOOKS: say("time between two looks"),
    "altitude": say("altitude"),
    "ambient thermometer": say("ambient thermometer"),
    "atmospheric pressure": say("atmospheric pressure"),
    "boiler temperature": say("boiler temperature"),
    "boiler thermometer": say("boiler thermometer"),
    "cabinet readings": say("cabinet readings"),
    "cabinet thermometer": say("cabinet thermometer"),
    "clock": say("clock"),
    "composition of the feed": say("composition of the feed"),
    "difference from the reference run": say("difference from the reference run"),
    "ends of the feed and gas logs": say("ends of the feed and gas logs"),
    "faces of the slab": say("faces of the slab"),
    "feed readings": say("feed readings"),
    "feed scale": say("feed scale"),
    "few windows of the gas rate": say("few windows of the gas rate"),
    "first-order model of the digester": say("first-order model of the digester"),
    "fit of the response": say("fit of the response"),
    "freezing plateau": say("freezing plateau"),
    "gaps in the flow log": say("gaps in the flow log"),
    "gas between readings": say("gas between readings"),
    "gas beyond the readings": say("gas beyond the readings"),
    "gas burnt during a refill": say("gas burnt during a refill"),
    "gas pressure": say("gas pressure"),
    "gas readings": say("gas readings"),
    "gas scale": say("gas scale"),
    "gas temperature": say("gas temperature"),
    "gas to boil water": say("gas to boil water"),
    "gas used elsewhere": say("gas used elsewhere"),
    "heat leak": say("heat leak"),
    "holder isolated": say("holder isolated"),
    "ice mass": say("ice mass"),
    "ice temperature": say("ice temperature"),
    "idle gas readings": say("idle gas readings"),
    "level area": say("level area"),
    "looks at the ice": say("looks at the ice"),
    "methane fraction": say("methane fraction"),
    "net heating value of methane": say("net heating value of methane"),
    "production during the run": say("production during the run"),
    "production readings": say("production readings"),
    "reserve": say("reserve"),
    "share frozen": say("share frozen"),
    "size of the water": say("size of the water"),
    "solids of other feeds": say("solids of other feeds"),
    "solids of the feed": say("solids of the feed"),
    "specific yield": say("specific yield"),
    "state of the gas over the feed log": say("state of the gas over the feed log"),
    "surface coefficient": say("surface coefficient"),
    "volume of the feed": say("volume of the feed"),
    "water mass": say("water mass"),
    "water probe readings": say("water probe readings"),
    "water temperature": say("water temperature"),
    "water vapour": say("water vapour"),
    "working volume": say("working volume"),
}


def said(name: str) -> Message:
    """Return the name of a source of error or of an assumption, for people."""
    return SAID.get(name) or say("{name}", name=name)
