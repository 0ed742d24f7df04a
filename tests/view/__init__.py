"""Tests of what reports show."""
