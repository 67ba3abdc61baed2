"""Who comes, through which door, and what they may do."""
