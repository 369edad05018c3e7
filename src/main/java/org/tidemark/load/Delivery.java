package org.tidemark.load;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.time.Duration;
import java.time.Instant;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.LinkedHashSet;
import java.util.List;
import java.util.Set;
import java.util.function.ToLongFunction;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import java.util.stream.Stream;

/**
 * Brings the lines of some people to the service, one transaction after the other, until each line
 * is acknowledged or refused.
 *
 * <p>Where an answer is lost, it first asks which of the records have been written since.
 */
final class Delivery {
  private static final ObjectMapper JSON = new ObjectMapper();
  private static final Pattern ENTRY = Pattern.compile("Bundle\\.entry\\[(\\d+)\\]");
  private static final Pattern MODIFIED = Pattern.compile("\"lastModified\"\\s*:\\s*\"([^\"]+)\"");

  /** After so many refusals of one transaction it is halved, and not parted at what is named. */
  private static final int FEW = 4;

  private static final int TRIES_AT_A_FAULT = 3;
  private static final long LONGEST_PAUSE_MS = 10_000;

  private final Endpoint endpoint;
  private final Refusals refusals;
  private final Journal journal;
  private final Duration patience;
  private Instant lastAnswered = Instant.now();
  private long newest;

  /**
   * A delivery that begins.
   *
   * @param serverTime the service's time, in milliseconds
   * @param patience for how long it goes on asking a service that does not serve
   */
  Delivery(
      Endpoint endpoint, Refusals refusals, Journal journal, long serverTime, Duration patience) {
    this.endpoint = endpoint;
    this.refusals = refusals;
    this.journal = journal;
    this.newest = serverTime;
    this.patience = patience;
  }

  /** Brings lines of which no two write the same. */
  void bring(List<Unit> units) throws IOException {
    long number = journal.begin(newest, units);
    lastAnswered = Instant.now();
    List<Unit> missing = units;
    if (units.stream().anyMatch(unit -> journal.unknownSince(unit) > 0)) {
      missing = missing(units, journal::unknownSince);
    }
    send(missing, new int[1]);
    journal.end(number);
  }

  private void send(List<Unit> units, int[] refused) throws IOException {
    List<Unit> missing = units;
    int faults = 0;
    for (int attempt = 0; !missing.isEmpty(); attempt++) {
      Endpoint.Answer answer;
      try {
        answer = endpoint.post(bundle("transaction", missing.stream().map(Unit::entries)));
      } catch (IOException lost) {
        pause(Math.min(LONGEST_PAUSE_MS, 500L << Math.min(attempt, 10)), lost.toString());
        missing = missing(missing, unit -> newest);
        continue;
      }
      switch (answer.status()) {
        case 429 -> pause(answer);
        case 502, 503, 504 -> {
          pause(answer);
          missing = missing(missing, unit -> newest);
        }
        case 401 -> throw new Stop("the service does not take the access token: " + answer.body());
        default -> {
          if (answer.isGood()) {
            note(answer.body());
            return;
          }
          if (answer.status() < 400) {
            throw new Stop("the service answers " + answer.status());
          }
          if (answer.status() == 500 && ++faults < TRIES_AT_A_FAULT) {
            pause(answer);
            missing = missing(missing, unit -> newest);
          } else {
            part(missing, answer, refused);
            return;
          }
        }
      }
    }
  }

  /** What was refused as a whole is sent in parts, in the same order, down to single lines. */
  private void part(List<Unit> units, Endpoint.Answer answer, int... refused) throws IOException {
    if (units.size() == 1) {
      refusals.add(units.get(0), answer);
      refused[0]++;
      lastAnswered = Instant.now();
      return;
    }
    int named = refused[0] < FEW ? named(units, answer.body()) : -1;
    int middle = named < 0 ? units.size() / 2 : named;
    send(units.subList(0, middle), refused);
    if (named >= 0) {
      send(units.subList(middle, middle + 1), refused);
      middle++;
    }
    send(units.subList(middle, units.size()), refused);
  }

  /** Which line the first entry that an outcome names belongs to; -1 when it names none. */
  private static int named(List<Unit> units, String outcome) {
    Matcher entry = ENTRY.matcher(outcome);
    if (!entry.find()) {
      return -1;
    }
    int left = Integer.parseInt(entry.group(1));
    for (int i = 0; i < units.size(); i++) {
      left -= units.get(i).entries().size();
      if (left < 0) {
        return i;
      }
    }
    return -1;
  }

  /** Those whose records are not all there as written after a time. */
  private List<Unit> missing(List<Unit> units, ToLongFunction<Unit> since) throws IOException {
    List<String> reads =
        units.stream()
            .flatMap(unit -> unit.addresses().stream())
            .map(url -> "{\"request\":{\"method\":\"GET\",\"url\":\"" + url + "\"}}")
            .toList();
    if (reads.isEmpty()) {
      return units;
    }
    String batch = bundle("batch", Stream.of(reads));
    for (int attempt = 0; ; attempt++) {
      Endpoint.Answer answer;
      try {
        answer = endpoint.post(batch);
      } catch (IOException lost) {
        pause(Math.min(LONGEST_PAUSE_MS, 500L << Math.min(attempt, 10)), lost.toString());
        continue;
      }
      if (answer.isGood()) {
        return missing(units, since, JSON.readTree(answer.body()).path("entry"));
      }
      if (answer.status() != 429 && answer.status() < 500) {
        throw new Stop("what is stored cannot be read: " + answer.status() + " " + answer.body());
      }
      pause(answer);
    }
  }

  private List<Unit> missing(List<Unit> units, ToLongFunction<Unit> since, JsonNode found) {
    List<Unit> missing = new ArrayList<>();
    int next = 0;
    for (Unit unit : units) {
      boolean there = !unit.addresses().isEmpty() && since.applyAsLong(unit) > 0;
      for (int i = 0; i < unit.addresses().size(); i++) {
        there &= isWrittenSince(since.applyAsLong(unit), found.path(next++));
      }
      if (!there) {
        missing.add(unit);
      }
    }
    return missing;
  }

  private static boolean isWrittenSince(long since, JsonNode read) {
    String status = read.at("/response/status").asText();
    if (status.startsWith("404") || status.startsWith("410")) {
      return false;
    }
    String written = read.at("/resource/meta/lastUpdated").asText();
    if (written.isEmpty()) {
      throw new Stop("whether a record is stored cannot be read: " + status);
    }
    return millis(written) > since;
  }

  /** What the service has written last of these people is older than whatever comes next. */
  private void note(String response) {
    Set<String> times = new LinkedHashSet<>();
    for (Matcher time = MODIFIED.matcher(response); time.find(); ) {
      times.add(time.group(1));
    }
    newest = Math.max(newest, times.stream().mapToLong(Delivery::millis).max().orElse(0));
    lastAnswered = Instant.now();
  }

  private static long millis(String instant) {
    return OffsetDateTime.parse(instant).toInstant().toEpochMilli();
  }

  private void pause(Endpoint.Answer answer) {
    pause(answer.pauseMs(Instant.now()), "it answers " + answer.status());
  }

  private void pause(long millis, String why) {
    if (Instant.now().plusMillis(millis).isAfter(lastAnswered.plus(patience))) {
      throw new Stop(
          "the service has not served for %d s: %s".formatted(patience.toSeconds(), why));
    }
    try {
      Thread.sleep(millis);
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      throw new Stop("interrupted");
    }
  }

  private static String bundle(String type, Stream<List<String>> entries) {
    return entries
        .flatMap(List::stream)
        .collect(
            Collectors.joining(
                ",", "{\"resourceType\":\"Bundle\",\"type\":\"" + type + "\",\"entry\":[", "]}"));
  }
}
