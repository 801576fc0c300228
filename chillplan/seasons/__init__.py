"""From a history to seasons: frost, soil warming, chill."""
