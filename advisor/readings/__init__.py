"""How air gets in: readings, CSV files, quality control."""
