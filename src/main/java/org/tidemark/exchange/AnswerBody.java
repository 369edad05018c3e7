package org.tidemark.exchange;

import io.vertx.core.buffer.Buffer;
import io.vertx.core.http.HttpClientResponse;
import java.io.EOFException;
import java.io.IOException;
import java.io.InputStream;
import java.io.InterruptedIOException;
import java.net.SocketTimeoutException;
import java.time.Duration;
import java.util.concurrent.BlockingQueue;
import java.util.concurrent.LinkedBlockingQueue;
import java.util.concurrent.TimeUnit;

/** The body of an answer, part by part; the next is asked for only when one has been read. */
final class AnswerBody extends InputStream {
  /** What has come: a part of the body, its end, or what went wrong. */
  private record Part(Buffer bytes, Throwable failure) {}

  private final HttpClientResponse response;
  private final Duration patience;
  private final BlockingQueue<Part> come = new LinkedBlockingQueue<>();
  private Buffer part = Buffer.buffer();
  private int read;
  private boolean ended;

  /** Takes an answer over before any of its body has come, on the thread that brings it. */
  AnswerBody(HttpClientResponse response, Duration patience) {
    this.response = response;
    this.patience = patience;
    response.pause();
    response.handler(bytes -> come.add(new Part(bytes, null)));
    response.endHandler(end -> come.add(new Part(null, null)));
    response.exceptionHandler(failure -> come.add(new Part(null, failure)));
  }

  @Override
  public int read() throws IOException {
    byte[] one = new byte[1];
    return read(one, 0, 1) < 0 ? -1 : one[0] & 0xff;
  }

  @Override
  public int read(byte[] into, int from, int most) throws IOException {
    while (!ended && read == part.length()) {
      next();
    }
    if (ended) {
      return -1;
    }
    int given = Math.min(most, part.length() - read);
    part.getBytes(read, read + given, into, from);
    read += given;
    return given;
  }

  private void next() throws IOException {
    response.fetch(1);
    try {
      Part next = come.poll(patience.toMillis(), TimeUnit.MILLISECONDS);
      if (next == null) {
        throw new SocketTimeoutException("no part of the answer in time");
      }
      if (next.failure() != null) {
        throw (IOException) new EOFException("the answer broke off").initCause(next.failure());
      }
      ended = next.bytes() == null;
      part = ended ? part : next.bytes();
      read = ended ? read : 0;
    } catch (InterruptedException stopping) {
      Thread.currentThread().interrupt();
      throw new InterruptedIOException();
    }
  }

  /** What has not come is not waited for. */
  @Override
  public void close() {
    if (!ended) {
      response.request().reset();
    }
  }
}
