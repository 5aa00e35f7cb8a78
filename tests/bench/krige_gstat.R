# Rscript krige_gstat.R FOLDER CASE: wall and processor seconds of a case of bench_krige by gstat, on the points that
# bench_krige wrote. What grows evenly is timed on a part and scaled: global kriging on two numbers of cells, so that
# the factoring is not scaled with them; local kriging on a tenth of the cells; leave-one-out on 25 of the refits.
suppressMessages({library(sp); library(gstat)})
folder <- commandArgs(TRUE)[1]
which_case <- commandArgs(TRUE)[2]
points <- function(n) { d <- read.csv(file.path(folder, sprintf("points_%d.csv", n))); coordinates(d) <- ~x+y; d }
cells <- function(count) {
  columns <- round(sqrt(count * 1.25)); rows <- round(count / columns)
  g <- expand.grid(x = (seq_len(columns) - 0.5) * 1000 / columns, y = (seq_len(rows) - 0.5) * 1000 / columns)
  coordinates(g) <- ~x+y
  g
}
model <- vgm(0.5, "Exp", 150, 0.05)
time <- function(e) { t <- system.time(capture.output(kept <- e)); c(t[["elapsed"]], t[["user.self"]] + t[["sys.self"]]) }
global <- function(n, all, few, more) {
  p <- points(n); g1 <- cells(few); g2 <- cells(more)
  t1 <- time(krige(z~1, p, g1, model, debug.level = 0))
  t2 <- time(krige(z~1, p, g2, model, debug.level = 0))
  t1 + (t2 - t1) * (all - length(g1)) / (length(g2) - length(g1))
}
seconds <- switch(which_case,
  "n155" = global(155, 1e6, 5000, 45000),
  "n1000" = global(1000, 1e5, 500, 3500),
  "n3000" = global(3000, 1e5, 100, 500),
  "local" = { p <- points(10000); g <- cells(1e5); 10 * time(krige(z~1, p, g, model, nmax = 32, debug.level = 0)) },
  "simulation" = {
    p <- points(1000); g <- cells(1e5); set.seed(1)
    time(krige(z~1, p, g, model, nmax = 32, nsim = 100, debug.level = 0))
  },
  "variogram" = { p <- points(10000); time(variogram(z~1, p, cutoff = 2000, width = 2000 / 15)) },
  "leave-one-out" = {
    p <- points(1000)
    40 * time(for (i in 1:25) krige(z~1, p[-i, ], p[i, ], model, debug.level = 0))
  })
cat(sprintf("%.4f %.4f\n", seconds[1], seconds[2]))
