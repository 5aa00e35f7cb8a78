# The weather terms of all disease models for every field of every season, by data.table: hours to days once, each
# window once for every station and day 0 that is asked for, then looked up at the flowering date and at three days
# either way, and the spread over them. No gaps are looked for, no coverage is kept, no bounds, no class of the crop.
# Called by weather_seasons.sh in the folder of its tables; the mean of one term is printed for comparison.
suppressMessages(library(data.table))
setDTthreads(2)
seasons <- as.integer(commandArgs(TRUE)[1])
first <- 2026L - seasons + 1L
begun <- proc.time()[["elapsed"]]
crops <- fread("crops.csv", select = c("field", "season", "flowering_date"))
hours <- rbindlist(lapply(first:2026, function(year) fread(sprintf("weather-%d.csv", year))))
read <- proc.time()[["elapsed"]]

number <- as.integer(substr(crops$field, 2, 6))
x <- 19 + (number %% 100) * 0.008 + 0.003
y <- 47 + (number %/% 100) * 0.0054 + 0.002
column <- pmin(pmax(round((x - 19) / 0.032), 0), 24)  # the stations stand on a grid: the nearest by rounding
row <- pmin(pmax(round((y - 47) / 0.027), 0), 19)
crops[, station := sprintf("S%03d", as.integer(row * 25 + column))]
crops[, flowering := as.IDate(flowering_date)]

hours[, saturation := log(relative_humidity_pct / 100) + 17.625 * temperature_degc / (243.04 + temperature_degc)]
hours[, depression := temperature_degc - 243.04 * saturation / (17.625 - saturation)]
hours[, warm := temperature_degc >= 15 & temperature_degc <= 30]
hours[, day := as.IDate(time + 7200L, tz = "UTC")]
days <- hours[, .(depression = mean(depression), humidity = mean(relative_humidity_pct), temperature = mean(temperature_degc),
                  lowest = min(temperature_degc), warm = sum(warm), warm_wet = sum(warm & relative_humidity_pct >= 90),
                  rain = sum(rain_mm)), by = .(station, day)]
days[, humid := humidity > 70]
setkey(days, station, day)

asked <- unique(rbindlist(lapply(-3:3, function(later) crops[, .(station, zero = flowering + later)])))
over <- function(what, from, to, by) {
    windows <- asked[, .(station, zero, from = zero + from, to = zero + to)]
    days[windows, on = .(station, day >= from, day <= to), by(get(what)), by = .EACHI][[4]]
}
asked[, `:=`(depression_around = over("depression", -10L, 10L, mean), humidity_around = over("humidity", -10L, 10L, mean),
             humid_days = over("humid", -15L, 10L, sum), warmth_before = over("temperature", -20L, -10L, mean),
             depression_after = over("depression", 0L, 10L, mean), humidity_before = over("humidity", -7L, 0L, mean),
             warm_wet = over("warm_wet", 0L, 10L, sum), warm_before = over("warm", -7L, 0L, sum),
             nights = over("lowest", 2L, 10L, mean), rain = over("rain", 6L, 10L, sum))]
setkey(asked, station, zero)
terms <- setdiff(names(asked), c("station", "zero"))
at <- lapply(-3:3, function(later) asked[crops[, .(station, zero = flowering + later)], ..terms, on = .(station, zero)])
low <- Reduce(pmin, lapply(at, as.matrix))
high <- Reduce(pmax, lapply(at, as.matrix))
done <- proc.time()[["elapsed"]]
cat(sprintf("data.table, reading the tables            %.1f s\n", read - begun))
cat(sprintf("data.table, the terms of all models       %.1f s; mean depression %.4f degC, spread %.4f degC\n", done - read,
            mean(at[[4]]$depression_around), mean(high[, 1] - low[, 1])))
