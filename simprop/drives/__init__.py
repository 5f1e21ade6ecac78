"""What motors, supplies and wires must do: margins, sizes, heat, cue sheets."""
