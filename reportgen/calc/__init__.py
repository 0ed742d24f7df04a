"""Pure computation: numbers in named units in, numbers out; no files, clock, printing or display."""
