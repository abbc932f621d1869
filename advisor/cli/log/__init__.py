"""What is logged: the daemon, readings, calibration, configuration; what the log says of room and wood."""
