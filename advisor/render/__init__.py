"""Views of one finished sheet; nothing here decides anything."""
