"""The web layer: thin views that parse, call and answer."""
