"""What every printed page of ours shares: its frame and print style, its typeface, and the way from HTML to PDF."""
