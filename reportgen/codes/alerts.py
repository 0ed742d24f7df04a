"""The codes of the alerts of a running trial: how urgent, what it means, what a person can do."""

from __future__ import annotations

from reportgen.codes.code import Code

#: How urgent an alert is, worst first.
ALERT_LEVELS = ("act now", "caution", "note")

ALERT_CODES = {
    "carbon-monoxide-over-limit": Code(
        "act now or caution", "Carbon monoxide is over a limit.", "Shut the burner; get everybody into fresh air."
    ),
    "hydrogen-sulfide-over-limit": Code(
        "act now", "There is much hydrogen sulphide in the gas.", "Shut the valve; never sniff the gas; filter it."
    ),
    "air-meter-unread": Code(
        "act now", "A meter that watches a toxic gas shows no number.", "Take it as a danger until you have looked."
    ),
    "flame-may-be-out": Code(
        "act now", "The gas stands still while the burner counts as lit.", "Shut the valve; air the place; look."
    ),
    "flame-is-out": Code(
        "act now or caution or note",
        "A flame-out is logged, and no relighting after it.",
        "Shut the valve; air the place; wait until the gas has cleared; find out why.",
    ),
    "gas-at-reserve": Code("act now", "The holder is down to its reserve.", "Shut the burner before air is drawn in."),
    "gas-short": Code(
        "act now or caution or note", "The gas may be out before the ice is solid.", "Be ready to refill, burner out."
    ),
    "holder-sinks-fast": Code(
        "act now or caution", "The holder sinks faster than before, or than any burner takes.", "Look for a leak."
    ),
    "no-cooling": Code("caution or note", "The cabinet does not cool though the burner is lit.", "Check the flame."),
    "cabinet-warms": Code("caution", "The cabinet warms with the burner lit.", "Check the flame, then the door."),
    "gas-weak": Code("caution", "The gas holds little methane.", "Do not keep relighting; feed less."),
    "not-watched": Code("caution", "Nothing was read for long with the burner lit.", "Look at the flame, and read."),
    "off-course": Code("caution", "The trial departs from the plan beside it.", "Compare gas and ice with it."),
}
