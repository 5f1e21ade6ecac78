"""The page of a session, by viser: a file for each thing on it, put together in `page.py`."""
