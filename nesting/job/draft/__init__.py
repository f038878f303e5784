"""A plan's lettering taken as a builder reads it: which part is called what, of which wood, how thick, how many."""

from nesting.job.draft.accepting import Stock, is_accepted
from nesting.job.draft.draft import Draft, draft_parts
from nesting.job.draft.drafted import DraftPart, Value
from nesting.job.draft.vocabulary import Vocabulary, load_vocabulary

__all__ = ["Draft", "DraftPart", "Stock", "Value", "Vocabulary", "draft_parts", "is_accepted", "load_vocabulary"]
