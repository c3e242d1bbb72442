"""The sheet: one page for the job folder, with drawings of the line and of its pressures."""
