"""The page in the hand: one offline file on which a grower works, and the way back into the journal."""
