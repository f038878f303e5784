"""Wood: materials, boards, parts, what they weigh and how stiff they are."""
