/* From the name of something in the put-back ledger to how it goes back, and when. */
#include <string.h>

#include "crosshatch/procedure.h"

/* Weights of a place in the order of work: procedure, round, cylinder, step. */
enum { STEPS = 4096, CYLINDERS = 64 };

/* Cylinder of a name that a template with `{cylinder}` gives, 0 where it has none; -1 where it does not give this name. */
static int cylinder_of(const char *what, const char *name)
{
    static const char placeholder[] = "{cylinder}";
    const char *at = strstr(what, placeholder);
    if (at == NULL)
        return strcmp(what, name) == 0 ? 0 : -1;
    const size_t before = (size_t)(at - what);
    if (strncmp(what, name, before) != 0)
        return -1;
    const char *digits = name + before;
    const size_t count = strspn(digits, "0123456789");
    if (count == 0 || count > 2 || digits[0] == '0' || strcmp(digits + count, at + strlen(placeholder)) != 0)
        return -1;
    return count == 1 ? digits[0] - '0' : 10 * (digits[0] - '0') + digits[1] - '0';
}

/* Neighbouring steps for each cylinder are one round: the first of them. */
static size_t round_begins(const ch_procedure *procedure, size_t step)
{
    while (step > 0 && procedure->steps[step].scope == CH_STEP_EACH_CYLINDER &&
           procedure->steps[step - 1].scope == CH_STEP_EACH_CYLINDER)
        step--;
    return step;
}

bool ch_procedure_put_back(const ch_procedures *procedures, const char *name, ch_put_back *back)
{
    for (size_t i = 0; i < procedures->things_count; i++) {
        const ch_procedure_thing *thing = &procedures->things[i];
        const int cylinder = cylinder_of(thing->what, name);
        if (cylinder < 0)
            continue;
        const ch_procedure *procedure = &procedures->procedures[thing->back_procedure];
        const size_t begins = round_begins(procedure, thing->back_step);
        *back =
            (ch_put_back){.thing = thing,
                          .step = &procedure->steps[thing->back_step],
                          .cylinder = cylinder,
                          .order = ((thing->back_procedure * STEPS + begins) * CYLINDERS + (size_t)cylinder) * STEPS +
                                   thing->back_step};
        return true;
    }
    return false;
}
