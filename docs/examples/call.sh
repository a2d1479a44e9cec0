#!/bin/sh
# SPDX-License-Identifier: MIT
# One call from a shell: call.sh SOCKET METHOD [PARAMS], with socat and jq.
#
#     call.sh /run/tripdog/visitor.sock status
#     call.sh /run/tripdog/visitor.sock stop '{"axis": "boom"}'
#
# Prints the result, or the sentence of the error and ends with 1. Whatever moves nothing needs no hello before it. Holding an
# axis does, and a connection that stays open: see hold.py.
set -eu
[ $# -ge 2 ] || { echo "form: call.sh SOCKET METHOD [PARAMS]" >&2; exit 2; }
jq -cn --arg method "$2" --argjson params "${3-{\}}" '{jsonrpc: "2.0", id: 1, method: $method, params: $params}' |
	socat -t 3 - "UNIX-CONNECT:$1" |
	jq -er 'select(.id == 1) | if .error then .error.data.sentence | halt_error(1) else .result end'
