"""An invented shop with a year behind it: for `wayround demo` and for measuring with lifelike data."""
