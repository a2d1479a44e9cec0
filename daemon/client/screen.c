/* SPDX-License-Identifier: MIT */
#include "daemon/client/screen.h"

#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "daemon/client/draw.h"

/* Control sequences of ECMA-48, and two private modes that terminals share (common practice): the second
 * page, and the cursor. */
#define SECOND_PAGE "\033[?1049h"
#define FIRST_PAGE  "\033[?1049l"
#define HIDE_CURSOR "\033[?25l"
#define SHOW_CURSOR "\033[?25h"
#define HOME        "\033[H"
#define CLEAR_LINE  "\033[K"
#define CLEAR_BELOW "\033[J"

enum { COLUMNS_OTHERWISE = 80, COLUMNS_MAX = 100, ROWS_OTHERWISE = 24 };

bool td_screen_is_terminal(void)
{
	const char *kind = getenv("TERM");

	return isatty(STDOUT_FILENO) == 1 && kind && kind[0] != '\0' && strcmp(kind, "dumb") != 0;
}

static struct winsize window(void)
{
	struct winsize size = {0};

	(void)ioctl(STDOUT_FILENO, TIOCGWINSZ, &size);
	if (size.ws_col == 0)
		size.ws_col = COLUMNS_OTHERWISE;
	if (size.ws_row == 0)
		size.ws_row = ROWS_OTHERWISE;
	return size;
}

size_t td_screen_width(void)
{
	size_t columns = window().ws_col;

	return columns > COLUMNS_MAX ? COLUMNS_MAX : columns;
}

void td_screen_open(struct td_screen *screen)
{
	screen->terminal = td_screen_is_terminal();
	screen->drawn = false;
	if (!screen->terminal)
		return;
	(void)td_keyboard_open(&screen->keyboard);
	(void)fputs(SECOND_PAGE HIDE_CURSOR, stdout);
	(void)fflush(stdout);
}

void td_screen_close(struct td_screen *screen)
{
	td_keyboard_close(&screen->keyboard);
	if (screen->terminal) {
		(void)fputs(SHOW_CURSOR FIRST_PAGE, stdout);
		(void)fflush(stdout);
	}
	screen->terminal = false;
}

/* Line by line over what stood there before: no flicker. */
static void put_in_place(const char *page, size_t rows)
{
	(void)fputs(HOME, stdout);
	for (size_t row = 1; *page; row++) {
		size_t length = strcspn(page, "\n");
		bool full = row + 1 >= rows;

		if (full)
			(void)fputs("... the window is too low for the rest" CLEAR_LINE "\r\n", stdout);
		else
			(void)fprintf(stdout, "%.*s" CLEAR_LINE "\r\n", (int)length, page);
		if (full)
			break;
		page += length + (page[length] == '\n');
	}
	(void)fputs("q or ^C ends" CLEAR_LINE CLEAR_BELOW, stdout);
}

void td_screen_draw(struct td_screen *screen, const struct td_pen *pen, const struct td_view *view)
{
	char *page = NULL;
	size_t length = 0;
	struct td_pen here = *pen;

	here.out = open_memstream(&page, &length);
	if (!here.out)
		return;
	here.width = td_screen_width();
	td_draw_status(&here, view);
	if (fclose(here.out) == 0) {
		if (screen->terminal)
			put_in_place(page, window().ws_row);
		else
			(void)fprintf(stdout, "%s%s", screen->drawn ? "\n" : "", page);
		(void)fflush(stdout);
		screen->drawn = true;
	}
	free(page);
}
