"""Pictures of a prop in motion: meshes, camera, rasteriser, overlays, clips, plots and exports."""
