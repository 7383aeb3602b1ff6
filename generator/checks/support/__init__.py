"""What the rules share: texts and references of a curriculum, near names, words, and the pages of a site."""
