"""The wheel as it is today: the settings that follow from its diameter."""
