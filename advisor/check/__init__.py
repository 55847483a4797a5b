"""Checks the knowledge as strictly as code: one small function a check, all findings gathered."""
