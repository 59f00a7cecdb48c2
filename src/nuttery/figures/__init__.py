"""Results as pictures: chart specifications, the plan of the planting, the picture of a stool."""
