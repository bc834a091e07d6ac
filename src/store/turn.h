/*
 * Turns to write: those of one program who write into the same file take them before SQLite's own door. Its waiting sleeps and asks again, longer each
 * time, so that whoever has waited longest asks least often: with sixteen devices entering without a pause one entry in a hundred waited for two
 * seconds (docs/speed.md).
 */
#ifndef CROSSHATCH_STORE_TURN_H
#define CROSSHATCH_STORE_TURN_H

#include <stdbool.h>

typedef struct store_turn store_turn;

/* The turns of the file at `path`, as it was named; store_turn_leave() them. NULL without memory. */
store_turn *store_turn_join(const char *path);
void store_turn_leave(store_turn *turns);

/* Wait for a turn, `most_s` seconds at most; true where it came. */
bool store_turn_take(store_turn *turns, int most_s);
void store_turn_give(store_turn *turns);

#endif
