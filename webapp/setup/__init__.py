"""Set-up: what people define, kept with revisions."""
