"""Pure laws of motors, springs, stops, friction, supply, heat and cues: numbers in, numbers out, one law a file."""
