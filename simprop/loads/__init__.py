"""Wrenches on joints by Newton and Euler over a recording; no engine is needed here."""
