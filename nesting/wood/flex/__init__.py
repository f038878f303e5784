"""How stiff built-up sections and cantilevered panels are: ratios to compare, never an approval to fly."""
