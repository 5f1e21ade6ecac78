"""Strips of cloth, straw and yarn that hang on bodies and fly."""
