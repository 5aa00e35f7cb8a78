#!/usr/bin/env bash
# Writes what stands in for a library until one of its functions is called for the first time (at_first_use.cpp).
#   write_calls.sh NM OBJDUMP LIBRARY.so OUT.S WHO_CALLS.a...
# Every function of the library that WHO_CALLS need gets an entry of its name, which jumps through a table; the table
# leads to `first_call` until that has found the function. x86-64 of the System V kind, as Linux has it.
set -euo pipefail
nm=$1 objdump=$2 library=$3 out=$4
shift 4
export LC_ALL=C
soname=$("$objdump" -p "$library" | awk '$1 == "SONAME" { print $2 }')
[ -n "$soname" ] || { echo "$library has no name of its own" >&2; exit 1; }
needed=$(comm -12 <("$nm" --undefined-only "$@" 2>/dev/null | awk '$1 == "U" { print $2 }' | sort -u) \
    <("$nm" -D --defined-only "$library" | awk '{ sub(/@.*/, "", $3); print $3 }' | sort -u))
data=$(comm -12 <(echo "$needed") \
    <("$nm" -D --defined-only "$library" | awk '$2 !~ /[TtWi]/ { sub(/@.*/, "", $3); print $3 }' | sort -u))
[ -z "$data" ] || { echo "these are no functions and cannot wait for a call: $data" >&2; exit 1; }
{
    printf '    .section .note.GNU-stack,"",@progbits\n    .text\n'
    index=0
    for name in $needed; do
        cat <<END
    .globl $name
    .type $name, @function
$name:
    jmp *functions+8*$index(%rip)
    .size $name, .-$name
first_$index:
    pushq \$$index
    jmp first_call
END
        index=$((index + 1))
    done
    # All that may hold arguments is put aside, the function found, and gone on to as if nothing had been.
    cat <<'END'
    .type first_call, @function
first_call:
    .cfi_startproc
    .cfi_def_cfa_offset 16
    pushq %rbp
    .cfi_adjust_cfa_offset 8
    .cfi_rel_offset %rbp, 0
    movq %rsp, %rbp
    .cfi_def_cfa_register %rbp
    andq $-16, %rsp
    subq $192, %rsp
    movq %rdi, 0(%rsp)
    movq %rsi, 8(%rsp)
    movq %rdx, 16(%rsp)
    movq %rcx, 24(%rsp)
    movq %r8, 32(%rsp)
    movq %r9, 40(%rsp)
    movq %rax, 48(%rsp)
END
    for x in 0 1 2 3 4 5 6 7; do echo "    movaps %xmm$x, $((64 + 16 * x))(%rsp)"; done
    cat <<END
    movq 8(%rbp), %rsi
    leaq names(%rip), %rdi
    movq (%rdi,%rsi,8), %rsi
    leaq library_name(%rip), %rdi
    call lodicule_function_of
    movq %rax, %r11
    movq 8(%rbp), %rax
    leaq functions(%rip), %r10
    movq %r11, (%r10,%rax,8)
END
    for x in 0 1 2 3 4 5 6 7; do echo "    movaps $((64 + 16 * x))(%rsp), %xmm$x"; done
    cat <<'END'
    movq 0(%rsp), %rdi
    movq 8(%rsp), %rsi
    movq 16(%rsp), %rdx
    movq 24(%rsp), %rcx
    movq 32(%rsp), %r8
    movq 40(%rsp), %r9
    movq 48(%rsp), %rax
    movq %rbp, %rsp
    popq %rbp
    .cfi_def_cfa %rsp, 16
    addq $8, %rsp
    .cfi_adjust_cfa_offset -8
    jmp *%r11
    .cfi_endproc
    .size first_call, .-first_call
    .section .rodata
library_name:
END
    echo "    .string \"$soname\""
    index=0
    for name in $needed; do
        echo "name_$index: .string \"$name\""
        index=$((index + 1))
    done
    printf '    .section .data.rel.local,"aw"\n    .align 8\nfunctions:\n'
    for ((i = 0; i < index; ++i)); do echo "    .quad first_$i"; done
    echo "names:"
    for ((i = 0; i < index; ++i)); do echo "    .quad name_$i"; done
} >"$out"
