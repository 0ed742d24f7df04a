"""Tests of the checks of readings, on small trials written for one test."""
