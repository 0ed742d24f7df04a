"""Turn the logs of a biogas-to-ice trial into a demonstration write-up."""

__version__ = "0.1.0"
