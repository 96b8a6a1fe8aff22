#!/usr/bin/env bash
# The guard of a driven source, as a process of its own: silent while the server is there, and the source at its safe value when the
# server is gone without a word. Everything on loopback.
#   guard.sh LOOPLEDGER
set -euo pipefail
bin=$1
work=$(mktemp -d)
trap 'kill "$sim" 2>/dev/null || true; rm -rf "$work"' EXIT
"$bin" field simulate --port-base 0 --speed 20 >"$work/sim" 2>&1 &
sim=$!
for _ in $(seq 200); do grep -q Ctrl-C "$work/sim" && break; sleep 0.05; done
port=$(sed -n 's/^MA-01 .*127\.0\.0\.1:\([0-9]*\) .*/\1/p' "$work/sim")
source="{\"protocol\":\"scpi\",\"host\":\"127.0.0.1\",\"port\":$port,\"query\":\"MEAS:CURR:DC?\",\"read_factor\":1000,\"set\":\"SOUR:CURR %s\",\"set_factor\":0.001,\"unit\":\"mA\",\"drive\":{\"low\":3.8,\"high\":20.5,\"safe\":4}}"
level() { "$bin" field read scpi "127.0.0.1:$port" "MEAS:CURR:DC?" --unit mA --factor 1000 | awk '$1 == "value" {print $2}'; }
near() { awk -v a="$(level)" -v b="$1" 'BEGIN {exit !(a - b < 0.05 && b - a < 0.05)}'; }
set_to() { exec 3<>"/dev/tcp/127.0.0.1/$port"; printf 'SOUR:CURR %s\n' "$1" >&3; exec 3>&-; sleep 0.3; }
expect() { for _ in $(seq 60); do near "$1" && return; sleep 0.1; done; echo "the source is at $(level) mA, not $1: $2"; exit 1; }

set_to 0.016
expect 16 "it was set"

# a server that says that all is well
printf '%s\ndone\n' "$source" | "$bin" guard
expect 16 "a guard that is dismissed moves nothing"

# a server that waits, and then is gone
mkfifo "$work/pipe"
"$bin" guard <"$work/pipe" 2>"$work/said" &
guard=$!
exec 4>"$work/pipe"
printf '%s\n' "$source" >&4
sleep 1
expect 16 "a guard moves nothing while the server is there"
kill -TERM $guard 2>/dev/null # what ends the server at the keyboard must not end its guard
sleep 0.3
kill -0 $guard || { echo "the guard ended on a signal"; exit 1; }
exec 4>&-
wait $guard
expect 4 "the server is gone"
grep -q "safe value" "$work/said"

# what is no source is refused
if echo '{"protocol":"scpi"}' | "$bin" guard 2>/dev/null; then echo "nonsense was taken"; exit 1; fi
echo "the guard does its work"
