"""The result: what a sheet holds and how it is put together."""
