/* Every page by its address. Those without a * come first. */
#include "asset.h"
#include "page.h"
#include "pairing_page.h"
#include "route.h"

const web_route web_routes[] = {
    {.path = "/", .get = page_home_get},
    {.path = "/pair", .get = pairing_page_get, .post = pairing_page_post, .open = true},
    {.path = "/token", .get = pairing_token_get},
    {.path = "/asset/*", .get = asset_get, .bare = true},
};
const size_t web_routes_count = sizeof web_routes / sizeof web_routes[0];
