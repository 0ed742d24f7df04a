"""Plans to test with: quantities as people write them, and runs that an operator may have had."""

from __future__ import annotations

from reportgen.plan import Asked, PastRun, Plan, make_plan
from reportgen.plan.asked import read_quantity

#: Invented runs of one appliance.
RUNS = tuple(
    PastRun(
        f"HMC-{number}",
        {
            "gas_used": used,
            "heat_removed": heat,
            "gas_per_hour_as_read": rate,
            "methane_fraction": 0.6,
            "ambient_mean": 28.0,
            "time_to_0": 1.5,
            "ice_making_time": 4.8,
            "temperature_lowest": -14.0,
            "gas_yield_fresh": 130.0,
        },
    )
    for number, (used, heat, rate) in enumerate([(240.0, 370.0, 56.0), (275.0, 420.0, 53.0), (262.0, 400.0, 58.0)], 1)
)


def asked(past: tuple[PastRun, ...] = (), shape: str | None = None, **texts: str) -> Asked:
    """Return what was asked, from quantities as text."""
    return Asked(past=past, shape=shape, **{name: read_quantity(name, text) for name, text in texts.items()})


def planned(past: tuple[PastRun, ...] = (), shape: str | None = None, **texts: str) -> Plan:
    """Return the plan for quantities as text."""
    return make_plan(asked(past, shape, **texts))


def value(plan: Plan, key: str) -> float:
    """Return the value of an answer that is given."""
    found = plan.answers[key].value
    assert found is not None, plan.answers[key].reason
    return found


def width(plan: Plan, key: str) -> float:
    """Return the width of the interval of an answer that is given."""
    interval = plan.answers[key].interval
    assert interval is not None
    return interval[1] - interval[0]
