"""What a printer does to a sheet: the calibration sheet, readings, pictures of it."""
