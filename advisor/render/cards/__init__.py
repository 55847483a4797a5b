"""Views of a sheet for one reader each: who tries it out, who runs it, and who quotes it."""
