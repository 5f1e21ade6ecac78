"""The moving prop as plain data of a 3D scene, and the one file that shows it in a browser."""
