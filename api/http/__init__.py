"""What every request over HTTP meets: state, limits, headers, errors."""
