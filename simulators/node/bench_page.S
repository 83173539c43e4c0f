/* The bench page, taken in as it stands. */
    .section .rodata
    .global shankwright_bench_page
    .global shankwright_bench_page_end
shankwright_bench_page:
    .incbin "bench_page.html"
shankwright_bench_page_end:
    .byte 0
    .section .note.GNU-stack,"",%progbits
