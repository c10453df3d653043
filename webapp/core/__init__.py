"""The trade's arithmetic: pure functions and frozen dataclasses; imports no Flask, no database, no clock."""
