"""Tests of the reader, on logs and trial sheets written for one test."""
