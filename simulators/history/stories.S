/* The stories, taken in as they stand. */
    .section .rodata
    .global shankwright_history_stories
    .global shankwright_history_stories_end
shankwright_history_stories:
    .incbin "stories.jsonl"
shankwright_history_stories_end:
    .byte 0
    .section .note.GNU-stack,"",%progbits
