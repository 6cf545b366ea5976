"""What every engine that speaks SQL does in the same way: the statements, and what is read and written with them."""
