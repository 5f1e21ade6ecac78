"""Pulls and pushes without a motor: gas spring, constant-force strip, counterweight, rope in a hand."""
