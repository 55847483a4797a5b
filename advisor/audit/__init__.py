"""Proof for later: replays a stored sheet, and keeps records that can be replayed."""
