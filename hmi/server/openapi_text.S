/* hmi/openapi.yaml as bytes of the program: what the station serves is what it was built from. */
    .section .rodata
    .global shankwright_openapi_begin
    .global shankwright_openapi_end
shankwright_openapi_begin:
    .incbin OPENAPI_FILE
shankwright_openapi_end:
    .byte 0
    .section .note.GNU-stack,"",%progbits
