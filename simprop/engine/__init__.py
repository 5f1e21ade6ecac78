"""Engines that step the motion, behind one protocol; each engine package is imported by one file only."""
