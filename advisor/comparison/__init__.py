"""Two sheets side by side: steps aligned, and what differs explained by what stands behind it."""
