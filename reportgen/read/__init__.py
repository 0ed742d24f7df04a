"""From files in a folder to a trial: text, cells, clocks, trial.toml."""
