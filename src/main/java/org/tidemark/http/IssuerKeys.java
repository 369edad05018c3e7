package org.tidemark.http;

import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.inject.Instance;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.URI;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Clock;
import java.time.Duration;
import java.time.Instant;
import java.util.Optional;
import java.util.concurrent.locks.ReentrantLock;
import org.jboss.logging.Logger;

/**
 * The public keys of who issues the access tokens, as a JSON Web Key Set. From an address they are
 * fetched once and kept, and fetched anew after an hour or when a token cannot be verified by them;
 * while that fails, those that are known hold. Tokens cannot make the service ask more often than
 * once a minute.
 */
@ApplicationScoped
class IssuerKeys {
  private static final Logger LOG = Logger.getLogger(IssuerKeys.class);

  /** After how long keys are fetched anew in any case. */
  private static final Duration REFRESH = Duration.ofHours(1);

  /** How often at most they are fetched for tokens that they do not verify. */
  private static final Duration AGAIN = Duration.ofMinutes(1);

  /** The pause after an attempt that failed. */
  private static final Duration PAUSE = Duration.ofSeconds(5);

  private final AccessSettings settings;
  private final Instance<OwnIssuer> ownIssuer;
  private final KeySetSource source;
  private final Clock clock;

  private final ReentrantLock reading = new ReentrantLock();
  private volatile Known known = Known.NOTHING;
  private Instant asked = Instant.MIN;
  private Instant failed = Instant.MIN;

  IssuerKeys(
      AccessSettings settings, Instance<OwnIssuer> ownIssuer, KeySetSource source, Clock clock) {
    this.settings = settings;
    this.ownIssuer = ownIssuer;
    this.source = source;
    this.clock = clock;
  }

  /** Keys and since when they are known; for a file, when it was changed. */
  private record Known(Optional<String> jwks, Instant since) {
    private static final Known NOTHING = new Known(Optional.empty(), Instant.MIN);
  }

  /** The keys; empty while they cannot be fetched. */
  Optional<String> now() {
    Known now = known;
    return now.jwks().isPresent() && !isOld(now) ? now.jwks() : read(now, false);
  }

  private boolean isOld(Known keys) {
    return isAddress() && !clock.instant().isBefore(keys.since().plus(REFRESH));
  }

  /** The keys again, after they have not verified a token; empty when there are no others. */
  Optional<String> other(String former) {
    Optional<String> read = settings.sandbox() ? Optional.empty() : read(known, true);
    return read.filter(keys -> !keys.equals(former));
  }

  /**
   * Reads the keys. One thread does; those that came with it find what it has read, or go on with
   * what they have when nothing is wrong with it but its age.
   *
   * @param seen what the caller has found
   * @param forToken whether a token asks for it
   */
  private Optional<String> read(Known seen, boolean forToken) {
    boolean mayGoOn = seen.jwks().isPresent() && !forToken;
    if (mayGoOn && !reading.tryLock()) {
      return seen.jwks();
    }
    if (!mayGoOn) {
      reading.lock();
    }
    try {
      if (known == seen) {
        read(forToken);
      }
      return known.jwks();
    } finally {
      reading.unlock();
    }
  }

  private void read(boolean forToken) {
    if (settings.sandbox()) {
      known = new Known(Optional.of(ownIssuer.get().jwks()), clock.instant());
    } else if (isAddress()) {
      fetch(forToken);
    } else {
      open(Path.of(settings.jwks()));
    }
  }

  private void open(Path file) {
    Instant changed = Instant.ofEpochMilli(file.toFile().lastModified());
    if (known.jwks().isEmpty() || !changed.equals(known.since())) {
      try {
        known = new Known(Optional.of(Files.readString(file)), changed);
      } catch (IOException e) {
        throw new UncheckedIOException("the keys of the issuer cannot be read", e);
      }
    }
  }

  private void fetch(boolean forToken) {
    Instant now = clock.instant();
    if (now.isBefore(failed.plus(PAUSE)) || forToken && now.isBefore(asked.plus(AGAIN))) {
      return;
    }
    asked = forToken ? now : asked;
    try {
      known = new Known(Optional.of(source.read(URI.create(settings.jwks()))), now);
    } catch (IOException | IllegalArgumentException e) {
      failed = now;
      LOG.warnf("The keys of the issuer could not be fetched from %s: %s", settings.jwks(), e);
    }
  }

  private boolean isAddress() {
    return AccessSettings.isAddress(settings.jwks());
  }
}
