"""How a rig file is read: text with line marks, values with units, fields, records."""
