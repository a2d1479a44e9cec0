/* SPDX-License-Identifier: MIT */
#include "sim/draw.h"

#include <stdlib.h>
#include <string.h>

#include "sim/draw_model.h"

static void fail(struct td_drawing *drawing, const char *sentence)
{
	if (!drawing->failed)
		td_error_set(&drawing->failure, "%s", sentence);
	drawing->failed = true;
}

static char *copy(struct td_drawing *drawing, const char *text)
{
	char *made = strdup(text);

	if (!made)
		fail(drawing, "no memory for the drawing");
	return made;
}

/* A list with room for one more element; NULL (and the list as it was) where memory ends. */
static void *make_room(struct td_drawing *drawing, void *list, size_t used, size_t *room, size_t size)
{
	if (used < *room)
		return list;
	size_t wanted = *room ? *room * 2 : 16;
	void *grown = reallocarray(list, wanted, size);
	if (!grown) {
		fail(drawing, "no memory for the drawing");
		return NULL;
	}
	*room = wanted;
	return grown;
}

struct td_drawing *td_drawing_new(const char *title, const char *description)
{
	struct td_drawing *drawing = calloc(1, sizeof(*drawing));

	if (!drawing)
		return NULL;
	drawing->from_ns = TD_NEVER;
	drawing->title = copy(drawing, title);
	drawing->description = copy(drawing, description);
	return drawing;
}

static void free_row(struct td_row *row)
{
	for (size_t i = 0; i < row->pieces; i++)
		free(row->piece[i].label);
	free(row->piece);
	free(row->hatch);
	free(row->name);
	free(row->group);
	free(row->low_end);
	free(row->high_end);
}

void td_drawing_free(struct td_drawing *drawing)
{
	if (!drawing)
		return;
	for (size_t i = 0; i < drawing->rows; i++)
		free_row(&drawing->row[i]);
	for (size_t i = 0; i < drawing->marks; i++)
		free(drawing->mark[i].sentence);
	for (int look = 0; look < TD_LOOKS; look++)
		free(drawing->meaning[look]);
	free(drawing->row);
	free(drawing->mark);
	free(drawing->title);
	free(drawing->description);
	free(drawing->next_group);
	free(drawing->hatch_meaning);
	free(drawing);
}

void td_drawing_describe(struct td_drawing *drawing, const char *description)
{
	free(drawing->description);
	drawing->description = copy(drawing, description);
}

void td_drawing_clock(struct td_drawing *drawing, int64_t wall_ns)
{
	drawing->wall_ns = wall_ns;
}

void td_drawing_window(struct td_drawing *drawing, td_ns from_ns, td_ns to_ns)
{
	if (from_ns < 0 || to_ns <= from_ns) {
		fail(drawing, "the window of a drawing ends before it begins");
		return;
	}
	drawing->has_window = true;
	drawing->from_ns = from_ns;
	drawing->to_ns = to_ns;
}

/* Without a window of its own the drawing shows all there is. */
static void include(struct td_drawing *drawing, td_ns at_ns)
{
	if (drawing->has_window || at_ns == TD_NEVER)
		return;
	if (at_ns < drawing->from_ns)
		drawing->from_ns = at_ns;
	if (at_ns > drawing->to_ns)
		drawing->to_ns = at_ns;
}

void td_drawing_group(struct td_drawing *drawing, const char *name)
{
	free(drawing->next_group);
	drawing->next_group = copy(drawing, name);
}

int td_drawing_add_row(struct td_drawing *drawing, enum td_row_kind kind, const char *name)
{
	struct td_row *rows =
		make_room(drawing, drawing->row, drawing->rows, &drawing->row_room, sizeof(*rows));

	if (!rows)
		return TD_NO_ROW;
	drawing->row = rows;
	rows[drawing->rows] =
		(struct td_row){.kind = kind, .name = copy(drawing, name), .group = drawing->next_group};
	drawing->next_group = NULL;
	return (int)drawing->rows++;
}

int td_drawing_add_curve(struct td_drawing *drawing, const char *name, const char *low_end,
			 const char *high_end)
{
	int row = td_drawing_add_row(drawing, TD_ROW_CURVE, name);

	if (row < 0)
		return row;
	drawing->row[row].low_end = copy(drawing, low_end);
	drawing->row[row].high_end = copy(drawing, high_end);
	return row;
}

/* What may be drawn into a kind of row. */
enum content { LEVELS, SPANS, POINTS };

static enum content content_of(enum td_row_kind kind)
{
	if (kind == TD_ROW_SPANS)
		return SPANS;
	return kind == TD_ROW_CURVE ? POINTS : LEVELS;
}

static struct td_row *find_row(struct td_drawing *drawing, int row, enum content content)
{
	if (row < 0 || (size_t)row >= drawing->rows) {
		fail(drawing, "something was drawn into a row that does not exist");
		return NULL;
	}
	if (content_of(drawing->row[row].kind) != content) {
		fail(drawing, "levels, spans and points each need rows of their own kind");
		return NULL;
	}
	return &drawing->row[row];
}

static void add_piece(struct td_drawing *drawing, struct td_row *row, struct td_piece piece)
{
	const struct td_piece *last = row->pieces ? &row->piece[row->pieces - 1] : NULL;
	td_ns earliest = !last ? 0 : last->to_ns == TD_NEVER ? last->from_ns : last->to_ns;

	if (piece.from_ns < earliest || piece.to_ns < piece.from_ns) {
		fail(drawing, "time runs backwards in a row of the drawing");
		free(piece.label);
		return;
	}
	struct td_piece *pieces = make_room(drawing, row->piece, row->pieces, &row->room, sizeof(*pieces));
	if (!pieces) {
		free(piece.label);
		return;
	}
	row->piece = pieces;
	pieces[row->pieces++] = piece;
	include(drawing, piece.from_ns);
	include(drawing, piece.to_ns);
}

void td_drawing_add_level(struct td_drawing *drawing, int row, td_ns at_ns, enum td_level level)
{
	struct td_row *found = find_row(drawing, row, LEVELS);

	if (found)
		add_piece(drawing, found, (struct td_piece){at_ns, TD_NEVER, (int)level, NULL});
}

void td_drawing_hatch(struct td_drawing *drawing, int row, const char *meaning)
{
	struct td_row *found = find_row(drawing, row, LEVELS);

	free(drawing->hatch_meaning);
	drawing->hatch_meaning = copy(drawing, meaning);
	if (found)
		found->hatched = true;
}

void td_drawing_add_hatch(struct td_drawing *drawing, int row, td_ns from_ns, td_ns to_ns)
{
	struct td_row *found = find_row(drawing, row, LEVELS);
	struct td_piece *hatches;

	if (!found || to_ns <= from_ns)
		return;
	hatches = make_room(drawing, found->hatch, found->hatches, &found->hatch_room, sizeof(*hatches));
	if (!hatches)
		return;
	found->hatch = hatches;
	hatches[found->hatches++] = (struct td_piece){from_ns, to_ns, 0, NULL};
	include(drawing, to_ns);
}

void td_drawing_add_point(struct td_drawing *drawing, int row, td_ns at_ns, int32_t share_ppm)
{
	struct td_row *found = find_row(drawing, row, POINTS);

	if (found)
		add_piece(drawing, found, (struct td_piece){at_ns, TD_NEVER, share_ppm, NULL});
}

void td_drawing_add_span(struct td_drawing *drawing, int row, td_ns from_ns, td_ns to_ns, enum td_look look,
			 const char *label)
{
	struct td_row *found = find_row(drawing, row, SPANS);

	if (found)
		add_piece(drawing, found, (struct td_piece){from_ns, to_ns, (int)look, copy(drawing, label)});
}

void td_drawing_add_mark(struct td_drawing *drawing, td_ns at_ns, int row, enum td_mark_kind kind,
			 const char *sentence)
{
	struct td_mark *marks =
		make_room(drawing, drawing->mark, drawing->marks, &drawing->mark_room, sizeof(*marks));

	if (!marks)
		return;
	drawing->mark = marks;
	marks[drawing->marks] = (struct td_mark){at_ns, row, kind, copy(drawing, sentence), drawing->marks};
	drawing->marks++;
	include(drawing, at_ns);
}

void td_drawing_explain(struct td_drawing *drawing, enum td_look look, const char *meaning)
{
	free(drawing->meaning[look]);
	drawing->meaning[look] = copy(drawing, meaning);
}

static bool is_still(const struct td_drawing *drawing, size_t row)
{
	const struct td_row *found = &drawing->row[row];

	for (size_t i = 0; i < drawing->marks; i++)
		if (drawing->mark[i].row == (int)row)
			return false;
	if (found->kind == TD_ROW_SPANS)
		return found->pieces == 0 ||
		       (found->pieces == 1 && found->piece[0].from_ns <= drawing->from_ns &&
			found->piece[0].to_ns >= drawing->to_ns);
	for (size_t i = 1; i < found->pieces; i++)
		if (found->piece[i].what != found->piece[0].what)
			return false;
	return true;
}

static void move_marks(struct td_drawing *drawing, size_t from, size_t to)
{
	for (size_t i = 0; i < drawing->marks; i++)
		if (drawing->mark[i].row == (int)from)
			drawing->mark[i].row = (int)to;
}

void td_drawing_drop_still(struct td_drawing *drawing)
{
	char *heading = NULL; /* of the group, until a row of it stays */
	size_t kept = 0;

	for (size_t i = 0; i < drawing->rows; i++) {
		struct td_row *row = &drawing->row[i];

		if (row->group) {
			free(heading);
			heading = row->group;
			row->group = NULL;
		}
		if (is_still(drawing, i)) {
			free_row(row);
			continue;
		}
		row->group = heading;
		heading = NULL;
		move_marks(drawing, i, kept);
		drawing->row[kept++] = *row;
	}
	free(heading);
	drawing->rows = kept;
}
