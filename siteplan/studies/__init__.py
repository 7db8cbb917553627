"""The conductor: opens inputs through files, joins the rooms below, does no physics."""
