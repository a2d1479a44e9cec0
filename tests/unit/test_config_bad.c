/* SPDX-License-Identifier: MIT */
/* Bad files: each row changes the base configuration and says which faults come, in which lines. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "config_base.h"

enum { WANTED_MAX = 4 };

struct bad {
	const char *name;
	struct edit edit[EDITS_MAX];
	const char *wanted
		[WANTED_MAX]; /* "LINE: start of the sentence|part|part"; each is one fault, and all are */
};

#define LONG_60   "abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz12345678"
#define LONG_NAME "a2345678901234567890123456789012" /* 32 bytes, one too many */

/* From line 6 on: seven lines. */
#define CABLE(source)                                                                                        \
	"[twist]\nsource = " source "\nlimit_degrees = 720\nahead = wheel right\nleft = lamp-arm in\n"       \
	"circle_left_ms = 9000\ncircle_right_ms = 12000\n"
#define ESTIMATE CABLE("estimate")
#define SENSOR   CABLE("sensor") "steps_per_turn = 100\n" /* 90 ms each */

/* clang-format off */
static const struct bad rows[] = {
	/* --- form of the file --- */
	{"a line without '=' is a fault", {{2, "name test cart"}},
	 {"2: neither a heading nor a key|key = value"}},
	{"a key without a value is a fault", {{2, "name ="}}, {"2: name =  is empty|leave the key out"}},
	{"a key before the first section is a fault", {{1, "poll_ms = 5\n[machine]"}},
	 {"1: key 'poll_ms' stands before the first section|[machine]"}},
	{"a heading that is not closed is a fault, its keys are passed over", {{6, "[keeper"}},
	 {"6: the heading is not closed|']'"}},
	{"text behind a heading is a fault", {{6, "[keeper] socket = a"}}, {"6: text stands behind the heading"}},
	{"a comment behind a heading needs a blank", {{6, "[keeper];here"}}, {"6: text stands behind the heading"}},
	{"a line one byte too long is a fault, not cut short",
	 {{2, "name = " LONG_60 " ; " LONG_60 LONG_60 "1"}}, {"2: the line is too long|at most 190 bytes|shorten it"}},
	{"a heading that is too long does not give its keys to the section before",
	 {{8, "[visitor ; " LONG_60 LONG_60 LONG_60 "]"}}, {"8: the line is too long"}},
	{"a control character is a fault", {{2, "name = test\033[2J cart"}}, {"2: the line has a control character"}},
	{"a C1 control character is a fault", {{2, "name = test\302\205cart"}}, {"2: the line has a control character"}},
	{"DEL is a fault", {{2, "name = test\177cart"}}, {"2: the line has a control character"}},
	{"a carriage return inside a line is a fault", {{2, "name = a\rb"}}, {"2: the line has a control character"}},
	{"a byte that is not UTF-8 is a fault", {{2, "name = \377"}}, {"2: the line is not valid UTF-8|save the file as UTF-8"}},
	{"an overlong UTF-8 form is a fault", {{2, "name = \300\257"}}, {"2: the line is not valid UTF-8"}},
	{"a UTF-8 surrogate is a fault", {{2, "name = \355\240\200"}}, {"2: the line is not valid UTF-8"}},
	{"a byte order mark inside the file is a fault", {{2, "\357\273\277name = cart"}}, {"2: the line has a byte order mark"}},
	{"a value in quotation marks is a fault", {{2, "name = \"test cart\""}},
	 {"2: name = \"test cart\" begins with a quotation mark|without quotation marks"}},
	{"an indented line is not the continuation of the one before", {{2, "name = a\n\tb"}},
	 {"3: neither a heading nor a key"}},
	{"a '#' behind a value is no comment", {{15, "travel_ms = 1000 # measured"}},
	 {"15: travel_ms = 1000 # measured is not a whole number"}},
	/* --- twist --- */
	{"numbers of a cable without a source have no effect", {{6, "[twist]\nlimit_degrees = 720\n[keeper]"}},
	 {"7: 'limit_degrees' has no effect here|remove it"}},
	{"an estimate needs its numbers", {{6, "[twist]\nsource = estimate\nahead = wheel right\nleft = lamp-arm in\n[keeper]"}},
	 {"6: [twist] lacks 'limit_degrees'|1 to 360000 degrees", "6: [twist] lacks 'circle_left_ms'", "6: [twist] lacks 'circle_right_ms'"}},
	{"an estimate has no contacts and no steps", {{6, ESTIMATE "contacts = a b\nsteps_per_turn = 4\n[keeper]"}},
	 {"13: 'contacts' has no effect here", "13: contacts names no switch of this file: 'a'",
	  "13: contacts names no switch of this file: 'b'", "14: 'steps_per_turn' has no effect here"}},
	{"a drive that is no axis is a fault", {{6, ESTIMATE "[keeper]"}, {20, "[axis wheels]"}, {22, "[way wheels left]"}, {25, "[way wheels right]"}},
	 {"9: ahead names no axis of this file: 'wheel'|did you mean 'wheels'?"}},
	{"a way ahead that the drive does not have is a fault", {{6, ESTIMATE "[keeper]"}, {21, "ways = left rightt"}, {25, "[way wheel rightt]"}},
	 {"9: ahead names no way of axis 'wheel': 'right'|did you mean 'rightt'?"}},
	{"a way to the left that the steering does not have is a fault", {{6, ESTIMATE "[keeper]"}, {29, "ways = out up"}, {30, "[way lamp-arm up]"}},
	 {"10: left names no way of axis 'lamp-arm': 'in'|its ways are 'out' and 'up'"}},
	{"a drive cannot steer itself", {{6, "[twist]\nsource = estimate\nlimit_degrees = 9\nahead = wheel right\nleft = wheel left\n"
	  "circle_left_ms = 9000\ncircle_right_ms = 9000\n[keeper]"}},
	 {"10: left names the axis of 'ahead', 'wheel'|name the one that steers"}},
	{"one name is no pair", {{6, "[twist]\nsource = estimate\nlimit_degrees = 9\nahead = wheel\nleft = lamp-arm In\n"
	  "circle_left_ms = 9000\ncircle_right_ms = 9000\n[keeper]"}},
	 {"9: ahead = wheel is not two names|write both names", "10: left = lamp-arm In has a name that is not well-formed"}},
	{"a contact of the swivel serves nothing else", {{6, SENSOR "contacts = bottom halt\n[keeper]"}},
	 {"14: switch 'halt' already serves as emergency_stop of [machine], line 5",
	  "23: switch 'bottom' already serves as contacts of [twist], line 14"}},
	{"one contact cannot be both", {{6, SENSOR "contacts = one one\n[keeper]"}, {40, "[switch one]\nline = cart:9\nclear_ms = 20\n[switch halt]"}},
	 {"14: switch 'one' already serves as contacts of [twist], line 14"}},
	{"a contact that is slower than the swivel is a fault",
	 {{6, SENSOR "contacts = one two\n[keeper]"}, {40, "[switch one]\nline = cart:9\nclear_ms = 90\n[switch two]\nline = cart:8\nclear_ms = 89\n[switch halt]"}},
	 {"51: switch 'one': clear_ms = 90 is too slow for the swivel|last 90 ms|choose less"}},
	{"a contact whose time is wrong, and steps that are wrong, are one fault each",
	 {{6, CABLE("sensor") "steps_per_turn = 0\ncontacts = one two\n[keeper]"},
	  {40, "[switch one]\nline = cart:9\nclear_ms = x\n[switch two]\nline = cart:8\n[switch halt]"}},
	 {"13: steps_per_turn = 0 is out of range", "51: clear_ms = x is not a whole number"}},
	{"of a contact whose time is wrong only that is told",
	 {{6, SENSOR "contacts = one two\n[keeper]"},
	  {40, "[switch one]\nline = cart:9\nclear_ms = x\n[switch two]\nline = cart:8\nclear_ms = 20\n[switch halt]"}},
	 {"51: clear_ms = x is not a whole number"}},
	/* --- duty and supply --- */
	{"a motor that draws more running than starting is a fault", {{21, "ways = left right\nstart_ma = 5\nrun_ma = 6"}},
	 {"23: run_ma = 6 is more than start_ma = 5|give start_ma at least as much"}},
	{"a motor that the supply cannot bear is a fault", {{2, "supply_ma = 100"}, {21, "ways = left right\nstart_ma = 101"}},
	 {"22: start_ma = 101 is more than supply_ma = 100|use a supply that bears it"}},
	{"a short-time duty needs its time", {{21, "ways = left right\nduty = short-time"}},
	 {"20: [axis wheel] lacks 'duty_time_s'|required with duty = short-time"}},
	{"an intermittent duty needs its share", {{21, "ways = left right\nduty = intermittent"}},
	 {"20: [axis wheel] lacks 'duty_percent'|required with duty = intermittent"}},
	{"a heating time without a rated duty has no effect", {{21, "ways = left right\nheating_s = 60"}},
	 {"22: 'heating_s' has no effect here|refused with duty = continuous"}},
	{"a duty the winding model cannot express is a fault",
	 {{21, "ways = left right\nduty = short-time\nduty_time_s = 1\nheating_s = 86400"}},
	 {"22: this duty is too short for heating_s|use minute_s"}},
	/* --- sections and keys --- */
	{"an unknown section is a fault with the nearest one", {{6, "[keepr]"}}, {"6: unknown section [keepr]|did you mean [keeper]?"}},
	{"an unknown section like nothing lists what there is", {{6, "[zzz]"}},
	 {"6: unknown section [zzz]|allowed: machine, keeper, visitor, twist, axis NAME"}},
	{"an empty heading is an unknown section", {{6, "[]"}}, {"6: unknown section []"}},
	{"sections are spelt in small letters", {{6, "[Keeper]"}}, {"6: unknown section [Keeper]|did you mean [keeper]?"}},
	{"an unknown key is a fault with the nearest one", {{21, "ways = left right\ndead_tiem_ms = 100"}},
	 {"22: unknown key 'dead_tiem_ms' in [axis wheel]|did you mean 'dead_time_ms'?"}},
	{"an unknown key like nothing points to the list", {{2, "colour = green"}},
	 {"2: unknown key 'colour' in [machine]|--explain-config"}},
	{"a key of another section says where it belongs", {{2, "travel_ms = 100"}},
	 {"2: key 'travel_ms' does not belong in [machine]|move it to [way AXIS WAY]"}},
	{"an empty key is unknown", {{2, "= 5"}}, {"2: unknown key '' in [machine]"}},
	{"a key twice names its first line", {{2, "name = a\nname = b"}},
	 {"3: key 'name' stands twice in this section, first in line 2|keep one"}},
	{"a section twice names its first line", {{8, "[keeper]"}},
	 {"8: section [keeper] stands twice, first in line 6|put all its keys into one"}},
	{"two axes of one name are a section twice", {{28, "[axis wheel]"}, {29, ""}},
	 {"28: section [axis wheel] stands twice, first in line 20", "30: [way lamp-arm in] belongs to no axis",
	  "33: [way lamp-arm out] belongs to no axis"}},
	{"two switches of one name are a section twice", {{38, "[switch bottom]"}},
	 {"18: end_switch names no switch of this file: 'top'|add its [switch NAME] section",
	  "38: section [switch bottom] stands twice, first in line 36"}},
	{"a heading with too few names is a fault", {{30, "[way lamp-arm]"}},
	 {"28: axis 'lamp-arm' lacks the section of its way 'in'|add [way lamp-arm in]",
	  "30: wrong number of names in the heading|write [way AXIS WAY]"}},
	{"a heading with too many names is a fault", {{6, "[keeper me]"}}, {"6: wrong number of names|write [keeper]"}},
	{"a name with a capital letter is not well-formed", {{40, "[switch Halt]"}},
	 {"5: emergency_stop names no switch", "40: 'Halt' is not a well-formed name|1 to 31 of a-z"}},
	{"a name that begins with a digit is not well-formed", {{40, "[switch 1halt]"}},
	 {"5: emergency_stop names no switch", "40: '1halt' is not a well-formed name"}},
	{"a name of 32 bytes is too long, not cut short", {{40, "[switch " LONG_NAME "]"}},
	 {"5: emergency_stop names no switch", "40: '" LONG_NAME "' is not a well-formed name"}},
	/* --- values --- */
	{"a unit behind a number is a fault", {{15, "travel_ms = 1000ms"}},
	 {"15: travel_ms = 1000ms is not a whole number|10 to 600000 ms|digits only"}},
	{"a sign before a number is a fault", {{15, "travel_ms = +1000"}}, {"15: travel_ms = +1000 is not a whole number"}},
	{"a negative number is a fault", {{15, "travel_ms = -1"}}, {"15: travel_ms = -1 is not a whole number"}},
	{"a decimal point is a fault", {{15, "travel_ms = 1000.0"}}, {"15: travel_ms = 1000.0 is not a whole number"}},
	{"a blank inside a number is a fault", {{15, "travel_ms = 1 000"}}, {"15: travel_ms = 1 000 is not a whole number"}},
	{"a leading zero is a fault", {{15, "travel_ms = 0100"}}, {"15: travel_ms = 0100 is not a whole number"}},
	{"a hexadecimal number is a fault", {{15, "travel_ms = 0x10"}}, {"15: travel_ms = 0x10 is not a whole number"}},
	{"2^32 + 1000 does not wrap into the range", {{15, "travel_ms = 4294968296"}},
	 {"15: travel_ms = 4294968296 is out of range"}},
	{"2^64 + 1000 does not wrap into the range", {{15, "travel_ms = 18446744073709552616"}},
	 {"15: travel_ms = 18446744073709552616 is out of range|choose a number"}},
	{"R3: a dead time of zero is out of range", {{21, "ways = left right\ndead_time_ms = 0"}},
	 {"22: dead_time_ms = 0 is out of range|allowed: 5 to 10000 ms"}},
	{"R4: a limit below the travel is out of range", {{15, "travel_ms = 1000\nmargin_percent = 99"}},
	 {"16: margin_percent = 99 is out of range|allowed: 100 to 1000 percent"}},
	{"R8: fewer changes than one operation and its return may make are no chatter",
	 {{37, "line = cart:10\nchatter_changes = 3"}},
	 {"38: chatter_changes = 3 is too few to tell chatter from bounce|allowed: 0, or 4 to 20|choose a number"}},
	{"R8: one change is no chatter", {{41, "line = HALT_CONTACT\nchatter_changes = 1"}}, {"42: chatter_changes = 1 is too few"}},
	{"a word that is none of the choices is a fault", {{3, "backend = pins"}},
	 {"3: backend = pins is none of the choices|allowed: gpio or bench"}},
	{"a part of a choice is none", {{37, "line = cart:10\ncontact = normally"}},
	 {"38: contact = normally is none of the choices|normally-closed or normally-open"}},
	{"the keeper's socket is not open to everybody", {{7, "socket = keeper.sock\nmode = 0666"}},
	 {"8: mode = 0666 lets everybody on this computer be the keeper|0600 to 0660 octal|a group"}},
	{"a mode with execute bits is a fault", {{9, "socket = visitor.sock\nmode = 0777"}},
	 {"10: mode = 0777 sets bits that mean nothing for a socket"}},
	{"a mode that locks out the owner is a fault", {{9, "socket = visitor.sock\nmode = 0060"}},
	 {"10: mode = 0060 keeps the owner from reading and writing"}},
	{"a mode in three digits is a fault", {{9, "socket = visitor.sock\nmode = 660"}}, {"10: mode = 660 is not an octal mode|four digits"}},
	{"a mode with an 8 is a fault", {{9, "socket = visitor.sock\nmode = 0680"}}, {"10: mode = 0680 is not an octal mode"}},
	{"a path that is too long is a fault", {{9, "socket = " LONG_60 LONG_60}},
	 {"9: socket = |is too long; allowed: 1 to 103 bytes; shorten it"}},
	{"'~' is not expanded, so it is a fault", {{9, "socket = ~/visitor.sock"}}, {"9: socket = ~/visitor.sock begins with '~'"}},
	{"one way is not two", {{21, "ways = left"}}, {"21: ways = left is not two names"}},
	{"three ways are not two", {{21, "ways = left right up"}}, {"21: ways = left right up is not two names"}},
	{"two ways of one name are a fault", {{21, "ways = left left"}}, {"21: ways = left left names both ways alike"}},
	{"a comma between ways is a fault", {{21, "ways = left, right"}}, {"21: ways = left, right has a name that is not well-formed"}},
	/* --- places --- */
	{"a line used twice by bridge inputs is a fault", {{23, "input = cart:0"}},
	 {"23: input = cart:0: this line is already the input of [way boom lower], line 13"}},
	{"both ways of an axis on one line are a fault", {{26, "input = cart:2"}},
	 {"26: input = cart:2: this line is already the input of [way wheel left], line 23"}},
	{"a switch on a bridge input is a fault", {{37, "line = cart:5"}},
	 {"37: line = cart:5: this line is already the input of [way lamp-arm out], line 34"}},
	{"a line name used twice is a fault", {{39, "line = HALT_CONTACT"}},
	 {"41: line = HALT_CONTACT: this line is already the line of [switch top], line 39"}},
	{"a chip number is a fault", {{13, "input = gpiochip0:17"}}, {"13: input = gpiochip0:17 names a chip by its number|label"}},
	{"a chip device is a fault", {{13, "input = /dev/gpiochip0:17"}}, {"13: input = /dev/gpiochip0:17 names a chip by its number or device"}},
	{"an offset alone is a fault", {{13, "input = 17"}}, {"13: input = 17 is a number alone"}},
	{"an offset that is no number is a fault", {{13, "input = cart:x"}}, {"13: input = cart:x has no whole number after the colon"}},
	{"a negative offset is a fault", {{13, "input = cart:-1"}}, {"13: input = cart:-1 has no whole number after the colon"}},
	{"an offset with a leading zero is a fault", {{13, "input = cart:00"}}, {"13: input = cart:00 has no whole number after the colon"}},
	{"2^32 does not wrap to offset 0", {{13, "input = cart:4294967296"}}, {"13: input = cart:4294967296 has an offset that is out of range"}},
	{"a place without a label is a fault", {{13, "input = :4"}}, {"13: input = :4 has no chip label"}},
	{"a blank beside the colon is a fault", {{13, "input = cart: 4"}}, {"13: input = cart: 4 has a blank beside the colon"}},
	{"a label of 32 bytes is too long", {{13, "input = " LONG_NAME ":1"}}, {"13: input = " LONG_NAME ":1 is too long"}},
	{"a line name of 32 bytes is too long", {{13, "input = " LONG_NAME}}, {"13: input = " LONG_NAME " is too long"}},
	{"R16: the heartbeat has a line of its own", {{3, "backend = gpio"}, {4, "heartbeat = cart:5"}},
	 {"34: input = cart:5: this line is already the heartbeat of [machine], line 4"}},
	{"R16: a switch is not on the line of the heartbeat", {{3, "backend = gpio"}, {4, "heartbeat = HALT_CONTACT"}},
	 {"41: line = HALT_CONTACT: this line is already the heartbeat of [machine], line 4"}},
	{"R16: the bench has no line for a heartbeat", {{5, "emergency_stop = halt\nheartbeat = cart:20"}},
	 {"6: 'heartbeat' has no effect here: it is refused with backend = bench|no such line|remove it"}},
	/* --- sockets and the board --- */
	{"one socket for keeper and visitor is a fault", {{9, "socket = keeper.sock"}},
	 {"9: socket = keeper.sock: this socket is already the socket of [keeper], line 7"}},
	{"the same socket in other words is a fault", {{7, "socket = run/keeper.sock"}, {9, "socket = .//run/./keeper.sock"}},
	 {"9: socket = .//run/./keeper.sock: this socket is already the socket of [keeper], line 7"}},
	{"the board's socket is nobody else's", {{9, "socket = board.sock"}},
	 {"9: socket = board.sock: this socket is already the board of [machine], line 4"}},
	{"the bench needs a board", {{4, ""}}, {"1: [machine] lacks 'board', which is required with backend = bench"}},
	{"real lines have no board", {{3, "backend = gpio"}}, {"4: 'board' has no effect here|refused otherwise; remove it"}},
	/* --- axes and ways --- */
	{"an axis without ways is a fault", {{21, ""}}, {"20: [axis wheel] lacks 'ways'|allowed: two different names"}},
	{"an axis without the section of a way is a fault", {{25, ""}, {26, ""}, {27, ""}},
	 {"20: axis 'wheel' lacks the section of its way 'right'|add [way wheel right]"}},
	{"a way of an unknown axis is a fault with the nearest one", {{25, "[way wheal right]"}},
	 {"20: axis 'wheel' lacks the section of its way 'right'",
	  "25: [way wheal right] belongs to no axis of this file|did you mean 'wheel'?"}},
	{"an unknown way is a fault with the nearest one", {{25, "[way wheel rihgt]"}},
	 {"20: axis 'wheel' lacks the section of its way 'right'",
	  "25: axis 'wheel' has no way 'rihgt'|did you mean 'right'?"}},
	{"an unknown way like neither names both", {{25, "[way wheel starboard]"}},
	 {"20: axis 'wheel' lacks", "25: axis 'wheel' has no way 'starboard'|its ways are 'left' and 'right'"}},
	{"a way without an input is a fault", {{23, ""}}, {"22: [way wheel left] lacks 'input'|LABEL:OFFSET"}},
	{"an end switch needs its travel", {{15, ""}}, {"12: [way boom lower] lacks 'travel_ms', which is required with end_switch"}},
	{"travel without an end switch is a fault", {{24, "hold_limit_ms = 500\ntravel_ms = 500"}},
	 {"25: 'travel_ms' has no effect here|refused without"}},
	{"R6: a way without an end switch needs its hold limit", {{24, ""}},
	 {"22: [way wheel left] lacks 'hold_limit_ms', which is required without end_switch|10 to 600000 ms"}},
	{"a hold limit beside an end switch is a fault", {{15, "travel_ms = 1000\nhold_limit_ms = 1000"}},
	 {"16: 'hold_limit_ms' has no effect here|refused with one"}},
	{"a margin without an end switch is a fault", {{24, "hold_limit_ms = 500\nmargin_percent = 120"}},
	 {"25: 'margin_percent' has no effect here|refused without end_switch"}},
	{"an early share without an end switch is a fault", {{24, "hold_limit_ms = 500\nearly_percent = 0"}},
	 {"25: 'early_percent' has no effect here|refused without end_switch"}},
	{"R5: a leave time away from no end switch is a fault", {{24, "hold_limit_ms = 500\nleave_ms = 100"}},
	 {"25: 'leave_ms' has no effect here|the other way of the axis has no end_switch"}},
	{"R6: a stroke is not restored where ends are known", {{11, "ways = lower raise\nrestored_ms = 1"}},
	 {"12: restored_ms is above 0, but axis 'boom' has an end switch|allowed: 0"}},
	/* --- switches --- */
	{"an unknown end switch is a fault with the nearest one", {{14, "end_switch = botom"}},
	 {"14: end_switch names no switch of this file: 'botom'|did you mean 'bottom'?", "36: switch 'bottom' is used nowhere"}},
	{"an unknown emergency-stop input is a fault", {{5, "emergency_stop = hlat"}},
	 {"5: emergency_stop names no switch of this file: 'hlat'|did you mean 'halt'?", "40: switch 'halt' is used nowhere"}},
	{"an end switch serves one way", {{18, "end_switch = bottom"}},
	 {"18: switch 'bottom' already serves as end_switch of [way boom lower], line 14|one purpose", "38: switch 'top' is used nowhere"}},
	{"the emergency-stop input is no end switch", {{18, "end_switch = halt"}},
	 {"18: switch 'halt' already serves as emergency_stop of [machine], line 5", "38: switch 'top' is used nowhere"}},
	{"a switch that nothing uses is a fault", {{5, ""}}, {"40: switch 'halt' is used nowhere|or remove the section"}},
	{"a switch without a line is a fault", {{41, ""}}, {"40: [switch halt] lacks 'line'"}},
	{"a group of another form is a fault", {{7, "socket = keeper.sock\ngroup = Owners"}},
	 {"8: group = Owners is not a well-formed name|write the name of a group of this system"}},
	{"a name of a switch that is not well-formed is a fault", {{14, "end_switch = the bottom"}},
	 {"14: end_switch = the bottom is not a well-formed name", "36: switch 'bottom' is used nowhere"}},
	/* --- bars --- */
	{"R17: a bar of an unknown axis is a fault with the nearest one", {{24, "hold_limit_ms = 500\nbars = moving bom"}},
	 {"25: bars: 'moving bom' names no axis of this file|did you mean 'boom'?"}},
	{"R17: a bar of an unknown axis like none is a fault", {{24, "hold_limit_ms = 500\nbars = moving everything"}},
	 {"25: bars: 'moving everything' names no axis of this file|[axis NAME]"}},
	{"R17: a bar of its own axis is a fault", {{24, "hold_limit_ms = 500\nbars = moving wheel"}},
	 {"25: bars: 'moving wheel' names the axis of this way|other axes"}},
	{"R17: a bar of an unknown way is a fault", {{24, "hold_limit_ms = 500\nbars = at-end boom rais"}},
	 {"25: bars: 'at-end boom rais' names no way of axis 'boom'|did you mean 'raise'?"}},
	{"R17: a bar of an end without a switch is a fault", {{15, "travel_ms = 1000\nbars = off-end wheel left"}},
	 {"16: bars: 'off-end wheel left' names an end without a switch|moving wheel"}},
	{"R17: a bar of an unknown form is a fault", {{24, "hold_limit_ms = 500\nbars = near boom"}},
	 {"25: bars = near boom has a condition of no known form|'moving AXIS'"}},
	{"R17: a bar with a name too many is a fault", {{24, "hold_limit_ms = 500\nbars = moving boom raise"}},
	 {"25: bars = moving boom raise has a condition of no known form"}},
	{"R17: a bar with a malformed name is a fault", {{24, "hold_limit_ms = 500\nbars = moving Boom"}},
	 {"25: bars = moving Boom has a condition of no known form"}},
	{"R17: an empty bar is a fault", {{24, "hold_limit_ms = 500\nbars = moving boom,"}},
	 {"25: bars = moving boom, has a condition of no known form"}},
	{"R17: a fifth bar is a fault",
	 {{24, "hold_limit_ms = 500\nbars = moving boom, moving lamp-arm, at-end boom lower, at-end boom raise, moving x"}},
	 {"25: bars = |has too many conditions|1 to 4"}},
	{"R17: a bar twice is a fault", {{24, "hold_limit_ms = 500\nbars = moving boom,moving  boom"}},
	 {"25: bars: 'moving boom' stands twice"}},
	{"R17: bars of which one always holds are a fault",
	 {{24, "hold_limit_ms = 500\nbars = at-end boom lower, off-end boom lower"}},
	 {"25: bars: one of 'at-end boom lower' and 'off-end boom lower' always holds"}},
	{"R17: a bar that wants both ends at once is a fault",
	 {{24, "hold_limit_ms = 500\nbars = off-end boom lower, off-end boom raise"}},
	 {"25: bars: one of 'off-end boom lower' and 'off-end boom raise' always holds"}},
	/* --- several at once --- */
	{"faults of all kinds come in one run, in the order of their lines",
	 {{2, "nmae = cart"}, {7, "socket = visitor.sock"}, {15, "travel_ms = soon"}, {41, "line = cart:11"}},
	 {"2: unknown key 'nmae'|'name'", "9: socket = visitor.sock", "15: travel_ms = soon", "41: line = cart:11"}},
};
/* clang-format on */

enum { ROWS = sizeof(rows) / sizeof(rows[0]) };

/* Every part of `wanted`, split at '|', stands in the fault; the first part stands right after the file name. */
static bool matches(const char *fault, const char *wanted)
{
	char parts[256];
	char *rest = NULL;
	const char *part;

	snprintf(parts, sizeof(parts), "x.conf:%s", wanted);
	part = strtok_r(parts, "|", &rest);
	if (strncmp(fault, part, strlen(part)) != 0)
		return false;
	while ((part = strtok_r(NULL, "|", &rest)))
		if (!strstr(fault, part))
			return false;
	return true;
}

static void expect_row(const struct reading *reading, const struct bad *row)
{
	size_t wanted = 0;

	for (; wanted < WANTED_MAX && row->wanted[wanted]; wanted++) {
		if (wanted >= reading->faults.count ||
		    !matches(reading->faults.fault[wanted].text, row->wanted[wanted])) {
			print_faults(reading);
			fail_msg("no fault like '%s'", row->wanted[wanted]);
		}
	}
	if (reading->faults.count != wanted)
		print_faults(reading);
	assert_int_equal(reading->faults.count, wanted);
}

static void bad_row(void **state)
{
	static struct reading reading;
	static const struct td_config nothing;
	static char text[BASE_TEXT_MAX];
	const struct bad *row = &rows[*(const size_t *)*state];

	read_text(&reading, text, base_with(row->edit, EDITS_MAX, text));
	assert_false(reading.good);
	expect_row(&reading, row);
	assert_memory_equal(&reading.config, &nothing, sizeof(nothing));
}

int main(void)
{
	static struct CMUnitTest tests[ROWS];
	static size_t index[ROWS];

	for (size_t i = 0; i < ROWS; i++) {
		index[i] = i;
		tests[i] = (struct CMUnitTest){rows[i].name, bad_row, NULL, NULL, &index[i]};
	}
	return cmocka_run_group_tests_name("config_bad", tests, NULL, NULL);
}
