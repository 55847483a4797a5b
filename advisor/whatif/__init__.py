"""What a change of the job does to the sheet, over a whole range if asked, and how far the advice holds."""
