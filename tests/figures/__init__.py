"""Tests of the figures, on small trials worked by hand."""
