"""Gridded weather written by outside tools (netCDF4 for Python, the tools of ecCodes), and what they read back from it.

write FOLDER     the files, and expected.csv: what the outside tools themselves read at the two cells
compare FOLDER   the hours that came through the program, against it
Known to work with netCDF4 1.6.2 and ecCodes 2.28.0 (Debian 12).
"""
import csv
import datetime
import math
import subprocess
import sys

import netCDF4
import numpy

UTC = datetime.timezone.utc
START = datetime.datetime(2026, 6, 1, tzinfo=UTC)
LONGITUDES = numpy.arange(279.0, 281.01, 0.25)  # from Greenwich eastward, as reanalyses count
LATITUDES = numpy.arange(37.0, 35.49, -0.25)  # from the north
CELLS = {"80.00 W 36.00 N": (4, 4), "80.25 W 36.50 N": (2, 3)}  # row, column of the two fields
HOURS = 60


def weather(hour):
    """A field of each quantity: temperature and dew point in K, rain of the hour that ended then in mm."""
    rows, columns = numpy.meshgrid(range(len(LATITUDES)), range(len(LONGITUDES)), indexing="ij")
    day = math.sin((hour - 9) * math.pi / 12)
    temperature = 291.0 + 6.0 * day + 0.3 * rows - 0.2 * columns
    dew_point = temperature - 5.0 - 4.0 * day + 0.05 * rows
    shower = numpy.where((hour + rows) % 17 < 5, 0.4 + 0.3 * ((7 * hour + columns) % 5), 0.0)
    return temperature, dew_point, shower


def times(file, dimension, unit, values):
    file.createDimension(dimension, len(values))
    axis = file.createVariable(dimension, "f8", (dimension,))
    axis.units = unit
    axis.standard_name = "time"
    axis[:] = values
    return axis


def places(file, north="latitude", east="longitude"):
    for name, unit, values in ((north, "degrees_north", LATITUDES), (east, "degrees_east", LONGITUDES)):
        file.createDimension(name, len(values))
        axis = file.createVariable(name, "f4", (name,))
        axis.units = unit
        axis[:] = values


def packed(file, name, unit, fields, standard=None):
    """Two bytes a value with a scale and an offset, as archives give them."""
    least, most = float(fields.min()), float(fields.max())
    array = file.createVariable(name, "i2", (list(file.dimensions)[0], "latitude", "longitude"), zlib=True,
                                fill_value=-32767)
    array.scale_factor = max(most - least, 1e-9) / 65000
    array.add_offset = (least + most) / 2
    array.units = unit
    if standard:
        array.standard_name = standard
    array[:] = fields


def hourly(folder):
    """Packed, with the rain of each hour in metres, on a time axis that begins in 1900."""
    fields = [weather(hour) for hour in range(HOURS)]
    with netCDF4.Dataset(folder + "/hourly.nc", "w", format="NETCDF4") as file:
        first = (START - datetime.datetime(1900, 1, 1, tzinfo=UTC)).total_seconds() / 3600
        times(file, "time", "hours since 1900-01-01 00:00:00.0", [first + hour for hour in range(HOURS)])
        places(file)
        packed(file, "t2m", "K", numpy.array([field[0] for field in fields]))
        packed(file, "d2m", "K", numpy.array([field[1] for field in fields]))
        packed(file, "tp", "m", numpy.array([field[2] for field in fields]) / 1000)


def by_the_day(folder, name, hours):
    """CF names, single precision, rain in kg m-2 that counts from 0 UTC of each day; the hours in this order."""
    rain, total = [], 0.0
    for hour in range(HOURS):
        total = weather(hour)[2] + (0.0 if hour % 24 == 1 else total)
        rain.append(total)
    with netCDF4.Dataset(folder + "/" + name, "w", format="NETCDF3_CLASSIC") as file:
        times(file, "valid_time", "seconds since 1970-01-01", [START.timestamp() + 3600 * h for h in hours])
        places(file)
        for name, unit, standard, values in (
                ("tas", "degC", "air_temperature", [weather(h)[0] - 273.15 for h in hours]),
                ("dew", "K", "dew_point_temperature", [weather(h)[1] for h in hours]),
                ("pr", "kg m-2", "precipitation_amount", [rain[h] for h in hours])):
            array = file.createVariable(name, "f4", ("valid_time", "latitude", "longitude"), fill_value=-9999.0)
            array.units = unit
            array.standard_name = standard
            array[:] = numpy.array(values)


def rules(edition, name, step, values, begins=False):
    """What grib_filter does to a sample message to make it one field."""
    keys = [("Ni", len(LONGITUDES)), ("Nj", len(LATITUDES)),
            ("latitudeOfFirstGridPointInDegrees", LATITUDES[0]), ("latitudeOfLastGridPointInDegrees", LATITUDES[-1]),
            ("longitudeOfFirstGridPointInDegrees", LONGITUDES[0]),
            ("longitudeOfLastGridPointInDegrees", LONGITUDES[-1]),
            ("iDirectionIncrementInDegrees", 0.25), ("jDirectionIncrementInDegrees", 0.25),
            ("dataDate", 20260601), ("dataTime", 0)]
    rain = name == "tp"
    if begins and rain:  # from here on sums, for a message does not go back
        keys += [("productDefinitionTemplateNumber", 8)] if edition == 2 else []
        keys.append(("stepType", '"accum"'))
    keys += [("shortName", '"%s"' % name), ("stepRange", '"0-%d"' % step if rain else '"%d"' % step),
             ("bitsPerValue", 20)]
    text = "".join("set %s = %s;\n" % key for key in keys)
    return text + "set values = {%s};\nwrite;\n" % ", ".join("%.9g" % value for value in values.ravel())


def forecast(folder, edition, hours, name):
    """Rain in metres since the start of the forecast."""
    text, total = "", 0.0
    for hour in range(hours):
        temperature, dew_point, _ = weather(hour)
        text += rules(edition, "2t", hour, temperature) + rules(edition, "2d", hour, dew_point)
    for hour in range(1, hours):
        total = total + weather(hour)[2]
        text += rules(edition, "tp", hour, total / 1000, hour == 1)
    with open(folder + "/rules.txt", "w") as file:
        file.write(text)
    samples = subprocess.run(["codes_info", "-s"], check=True, capture_output=True, text=True).stdout.strip()
    sample = "%s/regular_ll_sfc_grib%d.tmpl" % (samples.split(":")[0], edition)
    subprocess.run(["grib_filter", "-o", "%s/%s" % (folder, name), folder + "/rules.txt", sample], check=True)


def turned(folder):
    """A grid whose pole was turned so that 80 W 36 N lies at its 0, 0."""
    rows, columns, text = 7, 9, ""
    for hour in range(12):
        temperature, dew_point, _ = weather(hour)
        for name, values in (("2t", temperature), ("2d", dew_point)):
            keys = (("Ni", columns), ("Nj", rows), ("latitudeOfFirstGridPointInDegrees", 0.75),
                    ("latitudeOfLastGridPointInDegrees", -0.75), ("longitudeOfFirstGridPointInDegrees", 359.0),
                    ("longitudeOfLastGridPointInDegrees", 1.0), ("iDirectionIncrementInDegrees", 0.25),
                    ("jDirectionIncrementInDegrees", 0.25), ("latitudeOfSouthernPoleInDegrees", -54),
                    ("longitudeOfSouthernPoleInDegrees", 280), ("dataDate", 20260601), ("dataTime", 0),
                    ("shortName", '"%s"' % name), ("stepRange", '"%d"' % hour), ("bitsPerValue", 20))
            text += "".join("set %s = %s;\n" % key for key in keys)
            text += "set values = {%s};\nwrite;\n" % ", ".join("%.9g" % value for value in values.ravel())
    with open(folder + "/rules.txt", "w") as file:
        file.write(text)
    samples = subprocess.run(["codes_info", "-s"], check=True, capture_output=True, text=True).stdout.strip()
    subprocess.run(["grib_filter", "-o", folder + "/turned.grib", folder + "/rules.txt",
                    samples.split(":")[0] + "/rotated_ll_sfc_grib2.tmpl"], check=True)


def seen_in_netcdf(path):
    with netCDF4.Dataset(path) as file:
        axis = file.variables["time"] if "time" in file.variables else file.variables["valid_time"]
        stamps = netCDF4.num2date(axis[:], axis.units, only_use_cftime_datetimes=False,
                                  only_use_python_datetimes=True)
        for name in file.variables:
            array = file.variables[name]
            if array.ndim != 3:
                continue
            quantity = {"t": "temperature", "d": "dew_point", "p": "rain"}["p" if name in ("tp", "pr") else name[0]]
            factor = {"m": 1000.0}.get(array.units, 1.0)
            shift = -273.15 if array.units == "K" else 0.0
            for at, stamp in enumerate(stamps):
                for cell, (row, column) in CELLS.items():
                    value = float(array[at, row, column]) * factor + shift
                    yield quantity, cell, stamp.replace(tzinfo=UTC), value


def seen_in_grib(path):
    words = subprocess.run(["grib_get_data", "-p", "shortName,endStep", "-F", "%.12g", path], check=True,
                           capture_output=True, text=True).stdout
    at = {(round(float(LATITUDES[row]), 2), round(float(LONGITUDES[column]), 2)): cell
          for cell, (row, column) in CELLS.items()}
    for line in words.splitlines():
        parts = line.replace(",", " ").split()
        if parts[0].startswith("Lat"):
            continue
        cell = at.get((round(float(parts[0]), 2), round(float(parts[1]), 2)))
        if cell is None:
            continue
        quantity = {"2t": "temperature", "2d": "dew_point", "tp": "rain"}[parts[3]]
        value = float(parts[2])
        value = value * 1000.0 if quantity == "rain" else value - 273.15
        yield quantity, cell, START + datetime.timedelta(hours=int(parts[4])), value


def hours_of(seen, counts_from):
    """Hour by hour: what was seen, the rain taken apart and put on the hour in which it fell."""
    seen = list(seen)
    totals = {(cell, stamp): value for quantity, cell, stamp, value in seen if quantity == "rain"}
    for quantity, cell, stamp, value in seen:
        if quantity != "rain":
            yield quantity, cell, stamp, value
            continue
        before = stamp - datetime.timedelta(hours=1)
        if counts_from == "start":
            value -= totals.get((cell, before), 0.0)
        elif counts_from == "day" and stamp.hour != 1:
            if (cell, before) not in totals:
                continue  # the first hour of the file: what fell before is in it
            value -= totals[(cell, before)]
        yield quantity, cell, before, value


FILES = (("hourly.nc", "hour"), ("by_the_day.nc", "day"), ("backwards.nc", "day"), ("edition1.grib", "start"),
         ("edition2.grib", "start"))


def write(folder):
    hourly(folder)
    by_the_day(folder, "by_the_day.nc", range(HOURS))
    by_the_day(folder, "backwards.nc", range(HOURS - 1, -1, -1))
    turned(folder)
    forecast(folder, 1, 24, "edition1.grib")
    forecast(folder, 2, 24, "edition2.grib")
    forecast(folder, 2, 48, "long.grib")
    with open(folder + "/expected.csv", "w", newline="") as out:
        table = csv.writer(out)
        table.writerow(("file", "quantity", "cell", "hour", "value"))
        for name, counts_from in FILES:
            path = folder + "/" + name
            seen = seen_in_grib(path) if name.endswith(".grib") else seen_in_netcdf(path)
            for quantity, cell, stamp, value in hours_of(seen, counts_from):
                table.writerow((name, quantity, cell, stamp.strftime("%Y-%m-%dT%H:%MZ"), repr(value)))


COLUMNS = {"temperature": "temperature_degc", "dew_point": "dew_point_degc", "rain": "rain_mm"}


def compare(folder):
    expected = {}
    with open(folder + "/expected.csv", newline="") as table:
        for row in csv.DictReader(table):
            expected[row["file"], row["quantity"], row["cell"], row["hour"]] = float(row["value"])
    bad, compared = 0, 0
    for name, _ in FILES:
        found = {}
        with open("%s/%s.csv" % (folder, name), newline="") as table:
            for row in csv.DictReader(table):
                stamp = datetime.datetime.fromisoformat(row["time"]).astimezone(UTC).strftime("%Y-%m-%dT%H:%MZ")
                cell = row["station"].split("grid ")[1].split(",")[0]
                for quantity, column in COLUMNS.items():
                    if row[column]:
                        found[name, quantity, cell, stamp] = float(row[column])
        # The program keeps millionths; GRIB comes to it in single precision, which steps by 3.05e-5 at 290 K.
        tolerance = 3.1e-5 if name.endswith(".grib") else 2e-6
        wanted = {key: value for key, value in expected.items() if key[0] == name}
        # An hour of rain just before the first temperature is there too: both sides know it.
        for key in sorted(set(wanted) | set(found)):
            if key not in wanted or key not in found:
                print("only one side has", key, wanted.get(key), found.get(key))
                bad += 1
                continue
            compared += 1
            if abs(wanted[key] - found[key]) > tolerance:
                print("differs:", key, wanted[key], found[key])
                bad += 1
    print("%d values of outside tools compared, %d differ" % (compared, bad))
    sys.exit(1 if bad or compared < 900 else 0)


{"write": write, "compare": compare}[sys.argv[1]](sys.argv[2])
