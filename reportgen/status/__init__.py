"""During a trial: what has happened, what is likely next, and what is wrong, as of one moment."""
