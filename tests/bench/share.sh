#!/bin/sh
# How long `due` of everybody takes on a share that answers each call of the file system after a millisecond, and how many calls
# it makes: sh tests/bench/share.sh EXITSITE RECORDS [MOMENT]. Needs strace. Figures are printed, never asserted.
set -eu
exitsite=$1 records=$2 moment=${3:-2026-11-24T07:15}
calls=open,openat,read,pread64,close,getdents64,stat,lstat,fstat,newfstatat,statx,readlink
ask() { "$@" "$exitsite" due --records "$records" --as-of "$moment" >/dev/null || test $? -le 1; }
strace -f -c -e trace=$calls -o /dev/stdout "$exitsite" due --records "$records" --as-of "$moment" | grep -E 'calls|open|read|close|getdents|stat'
begun=$(date +%s%N)
ask env
plain=$(date +%s%N)
ask strace -f -qq -o /dev/null --seccomp-bpf -e trace=$calls -e inject=$calls:delay_enter=1000
ended=$(date +%s%N)
echo "without a delay $(( (plain - begun) / 1000000 )) ms, with one of 1 ms for each call $(( (ended - plain) / 1000000 )) ms"
