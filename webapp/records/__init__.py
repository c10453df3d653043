"""The record: immutable entries, the state they fold to, and the chain that shows nothing was altered."""
