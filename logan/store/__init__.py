"""What a workshop keeps: captures by their hash, cases, analyses to do, reviews, people and who did what."""
