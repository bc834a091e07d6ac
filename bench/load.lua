-- Mixed pages and entries for wrk, run by bench_load.py: of every five requests one enters a reading, as a phone sends it, each with an id of its own. The file
-- named by LOAD_PLAN holds, a line each, the cookie, how many forms there are, of each form its address and its fields, and the pages.
local cookie, forms, pages = nil, {}, {}
local threads = 0

function setup(thread)
    thread:set("number", threads)
    threads = threads + 1
end

function init()
    local lines = io.lines(os.getenv("LOAD_PLAN"))
    cookie = lines()
    for _ = 1, tonumber(lines()) do
        forms[#forms + 1] = {address = lines(), fields = lines()}
    end
    for line in lines do
        pages[#pages + 1] = line
    end
    count = 0
end

function request()
    count = count + 1
    if count % 5 == 0 then
        local form = forms[count / 5 % #forms + 1]
        local id = string.format("load.%s.%d.%d", os.getenv("LOAD_RUN"), number, count)
        local body = form.fields:gsub("CLIENT", id):gsub("READING", tostring(165 + count % 12))
        return wrk.format("POST", form.address, {["Cookie"] = cookie, ["Content-Type"] = "application/x-www-form-urlencoded"}, body)
    end
    return wrk.format("GET", pages[count % #pages + 1], {["Cookie"] = cookie})
end

function done(summary, latency, requests)
    io.write(string.format("LOAD %d %d %d %d %d %d\n", summary.requests, summary.duration, latency:percentile(50), latency:percentile(99), latency.max,
        summary.errors.connect + summary.errors.read + summary.errors.write + summary.errors.timeout + summary.errors.status))
end
