# Rscript gstat_meuse.R write | compare: the data for gstat_meuse.sh, and what gstat says about them.
suppressMessages({library(sp); library(gstat)})
data(meuse); data(meuse.grid)
number <- function(v) sprintf("%.17g", v)
# Centred coordinates: with metres of 180,000 gstat's own normal equations lose five digits.
east <- function(x) (x - 180000) / 1000
north <- function(y) (y - 331000) / 1000
error <- 0.01 + 0.04 * ((seq_len(155) * 7) %% 11) / 10
# An area with a pond, and an island beside it.
outer <- cbind(c(179400, 180600, 180600, 181000, 181000, 179800, 179800, 179400, 179400),
               c(330600, 330600, 331200, 331200, 332400, 332400, 331800, 331800, 330600))
box <- function(x0, y0, x1, y1) cbind(c(x0, x1, x1, x0, x0), c(y0, y0, y1, y1, y0))
pond <- box(180000, 331200, 180300, 331500)
island <- box(178800, 330000, 179100, 330300)
if (commandArgs(TRUE)[1] == "write") {
  d <- data.frame(x = meuse$x, y = meuse$y, zinc = meuse$zinc, log_zinc = number(log(meuse$zinc)),
                  root_dist = number(sqrt(meuse$dist)), error = number(error),
                  east = number(east(meuse$x)), north = number(north(meuse$y)))
  write.csv(d, "meuse.csv", row.names = FALSE, quote = FALSE)
  g <- data.frame(x = meuse.grid$x, y = meuse.grid$y, root_dist = number(sqrt(meuse.grid$dist)),
                  east = number(east(meuse.grid$x)), north = number(north(meuse.grid$y)))
  write.csv(g, "grid.csv", row.names = FALSE, quote = FALSE)
  corners <- function(r) paste0("[", paste(sprintf("[%d,%d]", as.integer(r[, 1]), as.integer(r[, 2])), collapse = ","), "]")
  cat('{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::28992"}},',
      '"features":[{"type":"Feature","properties":{"name":"bank"},"geometry":{"type":"MultiPolygon","coordinates":[[',
      corners(outer), ",", corners(pond), "],[", corners(island), "]]}}]}", sep = "", file = "area.geojson")
  quit(status = 0)
}
grid <- meuse.grid
coordinates(meuse) <- ~x+y; coordinates(grid) <- ~x+y
failed <- 0
check <- function(what, found, expected, tolerance) {
  worst <- if (length(found) == length(expected) && all(is.na(found) == is.na(expected)))
    max(abs(found - expected), na.rm = TRUE) else Inf
  good <- worst <= tolerance
  cat(sprintf("%-52s %10.3g (at most %g) %s\n", what, worst, tolerance, if (good) "" else "FAILED"))
  if (!good) failed <<- failed + 1
}
# The little of JSON that is needed: all numbers of one key inside "pairs".
numbers_of <- function(file, key) {
  text <- paste(readLines(file), collapse = " ")
  pairs <- sub("\\].*", "", sub(".*\"pairs\": \\[", "", text))
  hits <- regmatches(pairs, gregexpr(paste0("\"", key, "\": *[-+0-9.eE]+"), pairs))[[1]]
  as.numeric(sub(".*: *", "", hits))
}
variograms <- list(variogram = variogram(log(zinc)~1, meuse), robust = variogram(log(zinc)~1, meuse, cressie = TRUE),
                   directions = variogram(log(zinc)~1, meuse, alpha = c(0, 45, 90, 135)),
                   residual = variogram(log(zinc)~sqrt(dist), meuse))
for (name in names(variograms)) {
  v <- variograms[[name]]; file <- paste0(name, ".json")
  check(paste(name, "pairs"), numbers_of(file, "pairs"), v$np, 0)
  check(paste(name, "gamma, relative"), numbers_of(file, "gamma") / v$gamma, rep(1, nrow(v)), 1e-12)
  check(paste(name, "distance, relative"), numbers_of(file, "distance") / v$dist, rep(1, nrow(v)), 1e-12)
}
fit <- fit.variogram(variograms$variogram, vgm(1, "Sph", 900, 1))
ours <- as.numeric(sub(".*\"objective\": *([-+0-9.eE]+).*", "\\1", paste(readLines("variogram.json"), collapse = " ")))
check("weighted squares, ours over gstat's (at most 1)", max(ours / attr(fit, "SSErr") - 1, 0), 0, 1e-9)

quiet <- function(...) { r <- NULL; invisible(capture.output(r <- suppressWarnings(krige(..., debug.level = 0)))); r }
zinc <- vgm(0.5906078, "Sph", 897.0209, 0.05066243)
compare <- function(file, k, tolerance) {
  ours <- read.csv(paste0(file, ".csv"))
  check(paste(file, "estimate"), ours$estimate, k$var1.pred, tolerance)
  check(paste(file, "variance"), ours$variance, k$var1.var, tolerance)
}
compare("ordinary", quiet(log(zinc)~1, meuse, grid, zinc), 1e-11)
compare("simple", quiet(log(zinc)~1, meuse, grid, zinc, beta = 5.9), 1e-11)
compare("drift", quiet(log(zinc)~sqrt(dist), meuse, grid, vgm(0.1485283, "Sph", 877.3, 0.0798)), 1e-11)
compare("trend", quiet(log(zinc)~east(x)+north(y), meuse, grid, zinc), 1e-11)
compare("turned", quiet(log(zinc)~1, meuse, grid, vgm(0.59, "Sph", 1200, 0.05, anis = c(30, 0.4))), 1e-11)
compare("errors", quiet(log(zinc)~1, meuse, grid, vgm(0.59, "Sph", 897, 0.01), weights = 1 / error), 1e-11)
compare("filtered", quiet(log(zinc)~1, meuse, grid, vgm(0.5906078, "Sph", 897.0209, Err = 0.05066243)), 1e-11)
# gstat keeps block weights in 32-bit floats.
compare("block", quiet(log(zinc)~1, meuse, grid, zinc, block = c(40, 40)), 5e-8)
# The same area as the cells of 20 m that it is made of; gstat takes them as offsets from a place.
cells <- expand.grid(x = seq(178810, 180990, 20), y = seq(330010, 332390, 20))
within <- function(r) point.in.polygon(cells$x, cells$y, r[, 1], r[, 2]) == 1
cells <- cells[(within(outer) & !within(pond)) | within(island), ]
origin <- SpatialPoints(cbind(180000, 331000))
k <- quiet(log(zinc)~1, meuse, origin, zinc, block = data.frame(x = cells$x - 180000, y = cells$y - 331000))
ours <- read.csv("area.csv")
check("area with a pond and an island, estimate", ours$estimate, k$var1.pred, 2e-4)
check("area with a pond and an island, variance, relative", ours$variance / k$var1.var, 1, 2e-3)
# Cells whose 16th and 17th neighbour are equally far may take either.
near <- quiet(log(zinc)~1, meuse, grid, zinc, nmax = 16, maxdist = 400)
p <- coordinates(meuse)
tie <- apply(coordinates(grid), 1, function(q) { s <- sort(sqrt((p[,1]-q[1])^2 + (p[,2]-q[2])^2)); s[17] - s[16] < 1e-9 })
ours <- read.csv("near.csv")
check("near estimate", ours$estimate[!tie], near$var1.pred[!tie], 1e-11)
check("near variance", ours$variance[!tie], near$var1.var[!tie], 1e-11)
invisible(capture.output(cv <- krige.cv(log(zinc)~1, meuse, zinc, debug.level = 0, verbose = FALSE)))
ours <- read.csv("residuals.csv")
check("leave-one-out residual", ours$residual, cv$residual, 1e-12)
check("leave-one-out variance", ours$variance, cv$var1.var, 1e-12)
check("leave-one-out z", ours$standardised_error, cv$zscore, 1e-11)
invisible(capture.output(cv <- krige.cv(log(zinc)~1, meuse, zinc, nfold = rep(1:5, 31), debug.level = 0, verbose = FALSE)))
ours <- read.csv("folds.csv")
check("five folds residual", ours$residual, cv$residual, 1e-12)
check("five folds variance", ours$variance, cv$var1.var, 1e-12)
quit(status = if (failed > 0) 1 else 0)
