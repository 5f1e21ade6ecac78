"""What a person takes away: load reports, cautions, build notes."""
