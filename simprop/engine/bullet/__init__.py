"""The second opinion: PyBullet steps the tree, ties are solved here."""
