"""An author's photograph: pictures of one place, joined, and what somebody marked on them."""
