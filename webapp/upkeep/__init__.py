"""Upkeep: reads the record and the definitions, runs the core's arithmetic, gives plain JSON documents."""
