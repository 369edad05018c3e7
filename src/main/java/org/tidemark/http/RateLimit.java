package org.tidemark.http;

import com.github.benmanes.caffeine.cache.Cache;
import com.github.benmanes.caffeine.cache.Caffeine;
import io.github.bucket4j.Bucket;
import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.inject.Singleton;
import java.time.Duration;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.fhir.Problem;

/**
 * How many requests each client may send, by a bucket that fills steadily up to a burst. Each
 * instance counts for itself, so that several together let through as many times as much.
 */
@Singleton
class RateLimit {
  /** Of so many clients it is known how much they have sent; of the rest, who came last. */
  private static final int MOST_CLIENTS = 100_000;

  private final int perSecond;
  private final int burst;
  private final Cache<String, Bucket> buckets;

  /**
   * The settings.
   *
   * @param perSecond requests a second in the long run; 0 for no limit
   * @param burst requests at once after a pause; 1 or more
   */
  RateLimit(
      @ConfigProperty(name = "tidemark.rate-limit") int perSecond,
      @ConfigProperty(name = "tidemark.rate-burst") int burst) {
    if (perSecond < 0 || burst < 1) {
      throw new ConfigurationException(
          "tidemark.rate-limit is 0 or more requests a second, tidemark.rate-burst 1 or more.");
    }
    this.perSecond = perSecond;
    this.burst = burst;
    // A bucket that has had the time to fill is as good as a new one.
    Duration full = Duration.ofSeconds(perSecond == 0 ? 1 : burst / perSecond + 1);
    this.buckets = Caffeine.newBuilder().maximumSize(MOST_CLIENTS).expireAfterAccess(full).build();
  }

  /**
   * Counts a request.
   *
   * @throws Problem when the client has sent too many
   */
  void take(String client) {
    if (perSecond > 0 && !buckets.get(client, known -> bucket()).tryConsume(1)) {
      throw Problem.of(
          Problem.Kind.THROTTLED,
          "A client may send %d requests a second. Nothing was stored.".formatted(perSecond));
    }
  }

  private Bucket bucket() {
    return Bucket.builder()
        .addLimit(limit -> limit.capacity(burst).refillGreedy(perSecond, Duration.ofSeconds(1)))
        .build();
  }
}
