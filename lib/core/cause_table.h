/* SPDX-License-Identifier: MIT */
/*
 * The closed list of causes: everything the core decides has exactly one of them. The numbers are
 * stable for ever (they stand in traces); a cause that goes out of use keeps its number.
 *
 * X(NUMBER, IDENT, "name", KIND, "rule", "sentence for people", "what to do")
 *
 * KIND: NONE, MOVE (motion begins or goes on), STOP (motion ended, nothing wrong), REFUSAL (a
 * request was not carried out), TRIP (latched protective stop), MACHINE (concerns the whole
 * machine), NOTE (worth knowing, changes nothing).
 */
#ifndef TD_CORE_CAUSE_TABLE_H
#define TD_CORE_CAUSE_TABLE_H

/* clang-format off */
#define TD_CAUSE_TABLE(X) \
	X(0, NONE, "none", NONE, "", "nothing to report", "nothing") \
	/* motion begins or goes on */ \
	X(1, STARTED, "started", MOVE, "", \
	  "the way is powered", "nothing") \
	X(2, QUEUED, "queued", MOVE, "R3", \
	  "the request waits until dead time or rest has passed", "keep holding; it starts by itself") \
	X(3, RENEWED, "renewed", MOVE, "R7", \
	  "the hold goes on", "nothing") \
	X(4, SUPPLY_WAIT, "supply-wait", MOVE, "R13", \
	  "the request waits until the supply can bear another start", "keep holding; it starts by itself") \
	/* motion ended, nothing wrong */ \
	X(10, LET_GO, "let-go", STOP, "R7", \
	  "whoever held the way let go", "nothing") \
	X(11, REPLACED, "replaced", STOP, "R3", \
	  "the holder asked for the other way", "nothing; it starts after the dead time") \
	X(12, LEASE_OUT, "lease-out", STOP, "R7", \
	  "the request was not renewed in time", "ask again; check the connection if this happens often") \
	X(13, CLIENT_GONE, "client-gone", STOP, "R7", \
	  "the client that held the way went away", "connect and ask again") \
	X(14, STOP_ASKED, "stop-asked", STOP, "R7", \
	  "somebody asked for a stop", "let go and ask again") \
	X(15, END_REACHED, "end-reached", STOP, "R2", \
	  "the end switch of this way is active", "nothing; the other way is free") \
	X(16, HOLD_LIMIT, "hold-limit", STOP, "R6", \
	  "the way has been powered for its whole stroke", \
	  "go the other way, or wait until the stroke is restored") \
	X(17, BARRED, "barred", STOP, "R17", \
	  "another axis forbids this way now", "bring the other axis where it must be first") \
	X(18, LATCH_CUT, "latch-cut", STOP, "R10", \
	  "the latched stop cut the motion", "see why it was made, then reset") \
	X(19, DISARMED_CUT, "disarmed-cut", STOP, "R14", \
	  "the machine was disarmed", "see why, then start anew") \
	X(20, DUTY_CUT, "duty-cut", STOP, "R12", \
	  "the motor has been powered as long as its duty allows", "let it rest") \
	X(21, TWIST_CUT, "twist-cut", STOP, "R18", \
	  "driving on so would twist the cable beyond its limit", "drive the same curve back, or steer the other way") \
	X(22, TURN_OVER, "turn-over", STOP, "R7", \
	  "the time of the visitor who held the way is over", "join the line for another turn, where there are turns") \
	/* a request was not carried out */ \
	X(30, NOT_ARMED, "not-armed", REFUSAL, "R14", \
	  "the machine is not armed", "see the start messages of the daemon for what is missing") \
	X(31, LATCHED, "latched", REFUSAL, "R10", \
	  "the latched stop is on", "see why it was made, then reset it as keeper") \
	X(32, TRIPPED, "tripped", REFUSAL, "R11", \
	  "the axis has tripped", "find the reason, then reset the axis") \
	X(33, AT_END, "at-end", REFUSAL, "R2", \
	  "the axis is at the end of this way", "go the other way; a broken switch wire reads the same") \
	X(34, AT_STOP, "at-stop", REFUSAL, "R6", \
	  "the stroke of this way is used up", "go the other way, or wait until the stroke is restored") \
	X(35, BARRED_START, "barred-start", REFUSAL, "R17", \
	  "another axis forbids this way now", "bring the other axis where it must be first") \
	X(36, HOLD_ENDED, "hold-ended", REFUSAL, "R11", \
	  "this hold has ended and cannot be renewed", "let go and ask again with a new hold number") \
	X(37, STALE, "stale", REFUSAL, "R7", \
	  "the renewal is late, repeated or out of order", "renew in order and in time") \
	X(38, OVERTAKEN, "overtaken", REFUSAL, "R7", \
	  "a stop came after this request was made", "let go and ask again") \
	X(39, HELD_BY_OTHER, "held-by-other", REFUSAL, "R7", \
	  "somebody else holds this axis", "wait until they let go") \
	X(40, BAD_REQUEST, "bad-request", REFUSAL, "R7", \
	  "the request names no such axis or way, or a lease out of range", "describe lists what there is") \
	X(41, NOT_ALLOWED, "not-allowed", REFUSAL, "R11", \
	  "this role may not do that", "ask the keeper") \
	X(42, STILL_THERE, "still-there", REFUSAL, "R10", \
	  "what caused the stop is still there", "remove it first, then reset") \
	X(43, NOT_HELD, "not-held", REFUSAL, "R7", \
	  "there is no such hold to let go", "nothing") \
	X(44, DUTY_SPENT, "duty-spent", REFUSAL, "R12", \
	  "the motor must rest before it may be powered again", "wait until it has cooled down and its budget is free") \
	X(45, WAY_LOCKED, "way-locked", REFUSAL, "R11", \
	  "this way tripped twice in a row and is locked", \
	  "go the other way; the keeper finds the reason, then resets the axis") \
	X(46, RESETS_SPENT, "resets-spent", REFUSAL, "R11", \
	  "visitors have made all the resets they may make in an hour", "ask the keeper, or wait") \
	X(47, STILL_MOVING, "still-moving", REFUSAL, "", \
	  "the axis moves or is held", "stop it, let it come to rest, then ask again") \
	X(48, TWIST_LIMIT, "twist-limit", REFUSAL, "R18", \
	  "driving so would twist the cable beyond its limit", \
	  "drive the other way or steer to the other side; or untwist the cable by hand and tell so as keeper") \
	X(49, TWIST_UNCOUNTED, "twist-uncounted", REFUSAL, "R18", \
	  "this machine counts no turns", "set `source` in [twist] of the configuration if it drives on a cable") \
	X(50, QUIET, "quiet", REFUSAL, "", \
	  "it is quiet time and this axis is loud", "ask again when the quiet hours are over") \
	X(51, NOT_YOUR_TURN, "not-your-turn", REFUSAL, "", \
	  "a visitor moves the machine only in a turn of its own", "join the line, and ask again when your turn has come") \
	X(52, LINE_FULL, "line-full", REFUSAL, "", \
	  "there is no place left in the line of visitors", "try again later") \
	X(53, VISITORS_OUT, "visitors-out", REFUSAL, "", \
	  "the keeper has closed the machine to visitors", "wait until it is open again; your place in line stays") \
	X(54, NOT_IN_LINE, "not-in-line", REFUSAL, "", \
	  "there is no place in line and no turn to give up", "nothing") \
	X(55, NO_TURN, "no-turn", REFUSAL, "", \
	  "no visitor has a turn that could be ended", "nothing") \
	X(57, LATE, "late", REFUSAL, "R7", \
	  "the request was too long on its way: the token it brings is too old", \
	  "use the newest token; where this goes on, the connection is too slow to move the machine by") \
	X(58, FOREIGN_TOKEN, "foreign-token", REFUSAL, "R7", \
	  "the token was not given to this connection, or in a turn that has ended", \
	  "say hello on this connection and use the token from its answer") \
	X(59, OTHER_PROTOCOL, "other-protocol", REFUSAL, "", \
	  "the daemon speaks no version of the protocol that the client does", \
	  "use a client made for the version that the daemon names") \
	/* latched protective stops */ \
	X(60, TRAVEL_LIMIT, "travel-limit", TRIP, "R4", \
	  "the end was not reached in the learned time", \
	  "look for an obstacle, a slipping gear, a dead motor or a switch that never closes; then reset") \
	X(61, LEAVE_LIMIT, "leave-limit", TRIP, "R5", \
	  "the end switch did not clear after driving away from it", \
	  "look for a broken switch wire, a stuck switch or a blocked axis; then reset") \
	X(62, BOTH_ENDS, "both-ends", TRIP, "R8", \
	  "both end switches of the axis are active at once", \
	  "check the switches and their common wire; then reset") \
	X(63, END_TOO_EARLY, "end-too-early", TRIP, "R8", \
	  "the end switch became active long before the end can have been reached", \
	  "look for a broken switch wire or something that presses the switch; then reset") \
	X(64, WRONG_END, "wrong-end", TRIP, "R8", \
	  "the end switch of the other way became active", \
	  "check whether motor or switches are wired the wrong way round; then reset") \
	X(65, LINES_LOST, "lines-lost", TRIP, "R15", \
	  "the lines could not be read or written", "check the chip and its driver; then reset") \
	X(66, INTERNAL, "internal", TRIP, "", \
	  "the program found itself in an impossible state", "please report this with the trace; then reset") \
	X(67, CHATTER, "chatter", TRIP, "R8", \
	  "an end switch changes more often than a sound contact can", \
	  "look for a loose wire, a worn contact or a switch at the edge of its reach; then reset") \
	/* the whole machine */ \
	X(80, ARMED, "armed", MACHINE, "R14", \
	  "the machine is armed", "nothing; it moves when asked") \
	X(81, DISARMED, "disarmed", MACHINE, "R14", \
	  "the machine is disarmed", \
	  "see the log for why; where requests were not heard for a moment it arms again by itself") \
	X(82, LATCH_ASKED, "latch-asked", MACHINE, "R10", \
	  "somebody made the latched stop", "see why, then reset as keeper") \
	X(83, LATCH_INPUT, "latch-input", MACHINE, "R10", \
	  "the emergency-stop input is active", "release the wired emergency stop, then reset as keeper") \
	X(84, LATCH_KEPT, "latch-kept", MACHINE, "R10", \
	  "the latched stop was on before the restart and still is", "see why it was made, then reset as keeper") \
	X(85, RESET_DONE, "reset-done", MACHINE, "R11", \
	  "the stop was reset; nothing moves until asked anew", "nothing") \
	X(86, NOTHING_TO_RESET, "nothing-to-reset", MACHINE, "R11", \
	  "there was nothing to reset", "nothing") \
	X(87, STOPPED, "stopped", MACHINE, "R7", \
	  "the stop was carried out", "nothing") \
	X(88, LOCK_MADE, "lock-made", MACHINE, "R11", \
	  "the way tripped twice in a row and is locked", "find the reason, then reset the axis as keeper") \
	X(89, LOCK_KEPT, "lock-kept", MACHINE, "R11", \
	  "the way was locked before the restart and still is", \
	  "find the reason, then reset the axis as keeper") \
	X(90, COOLED, "cooled", MACHINE, "R12", \
	  "the keeper has vouched that the motor is cold; its winding model and budgets begin anew", "nothing") \
	X(91, UNTWISTED, "untwisted", MACHINE, "R18", \
	  "the cable is straight, says the keeper; turns count from zero again", "nothing") \
	X(92, IN_LINE, "in-line", MACHINE, "", \
	  "a place in the line of visitors is taken", "wait for the turn, then ask for motion") \
	X(93, OUT_OF_LINE, "out-of-line", MACHINE, "", \
	  "the place in line, or the turn, is given up", "nothing") \
	X(94, NO_TURN_NEEDED, "no-turn-needed", MACHINE, "", \
	  "no turn is needed to move this machine", "nothing; ask for motion") \
	X(95, TURN_ENDED, "turn-ended", MACHINE, "", \
	  "the keeper ended the turn", "nothing; the next visitor in line comes") \
	X(96, CLOSED, "closed", MACHINE, "", \
	  "the machine is closed to visitors", "open it as keeper; visitors keep their places") \
	X(97, OPEN, "open", MACHINE, "", \
	  "the machine is open to visitors", "nothing") \
	X(98, NEWS_LOST, "news-lost", MACHINE, "", \
	  "news were lost on their way inside the daemon; its state is whole again", \
	  "see the traces for what happened meanwhile") \
	/* worth knowing */ \
	X(100, END_UNEXPECTED, "end-unexpected", NOTE, "R8", \
	  "an end switch became active while the axis stood still elsewhere", \
	  "check its wire; the position counts as unknown until the next end") \
	X(101, LEVELS_SEEN, "levels-seen", NOTE, "R2", \
	  "a switch changed", "nothing") \
	X(102, CLOCK_BACK, "clock-back", NOTE, "", \
	  "an event carried a time before the one already known", "nothing; the later time counts") \
	X(103, CONTACT_CHATTERS, "contact-chatters", NOTE, "R8", \
	  "this contact changes more often than a sound one can", \
	  "look for a loose wire, a worn contact or noise; what depends on it waits for a reset") \
	X(104, WAY_SLOWER, "way-slower", NOTE, "", \
	  "this way takes longer than it used to", \
	  "look for wear, dirt, slack or a weak supply before the travel limit trips") \
	X(105, WAY_STEADY, "way-steady", NOTE, "", \
	  "this way takes about as long as it used to again", "nothing") \
	X(106, TWIST_SLIP, "twist-slip", NOTE, "R18", \
	  "both contacts of the swivel changed at once, so a step was missed", \
	  "check the contacts and their wires; the limit counts two steps less until the cable is untwisted")
/* clang-format on */

/*
 * R11: the trips that a visitor may reset too, so many in an hour. Every other one, and whatever is added without
 * being named here, is the keeper's alone. Named are those after which switches, wires and program can still be
 * trusted: a jam is cleared by whoever stands there, and tried again it is no worse than the first time.
 */
#define TD_VISITOR_RESET_TABLE(X) X(TRAVEL_LIMIT)

#endif
