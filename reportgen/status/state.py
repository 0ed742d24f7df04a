"""The state of a trial as of one moment: forecasts, alerts, the plan beside it, and when to look at the ice."""
