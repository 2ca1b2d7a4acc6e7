// Gaps, ties and what is proposed for them.

export function startTies() {}
