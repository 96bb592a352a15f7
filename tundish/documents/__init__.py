"""From values to plain facts, text and pictures. Knows nothing of disk."""
