"""A plan's lettering taken as a builder reads it: which part is called what, of which wood, how thick, how many."""

from nesting.draft.accepting import Stock, is_accepted
from nesting.draft.draft import Draft, draft_parts
from nesting.draft.drafted import DraftPart, Value
from nesting.draft.vocabulary import Vocabulary, load_vocabulary

__all__ = ["Draft", "DraftPart", "Stock", "Value", "Vocabulary", "draft_parts", "is_accepted", "load_vocabulary"]
