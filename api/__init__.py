"""The doors of Leastwise: command line and HTTP."""
