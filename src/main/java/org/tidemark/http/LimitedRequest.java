package org.tidemark.http;

import jakarta.servlet.ReadListener;
import jakarta.servlet.ServletInputStream;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletRequestWrapper;
import java.io.IOException;
import org.tidemark.fhir.Problem;

/** A request whose body may be read only up to a limit, also when its length is not told. */
public final class LimitedRequest extends HttpServletRequestWrapper {
  private final long limit;

  /**
   * A request with a limit.
   *
   * @param request the request
   * @param limit the most bytes that its body may have
   */
  public LimitedRequest(HttpServletRequest request, long limit) {
    super(request);
    this.limit = limit;
  }

  @Override
  public ServletInputStream getInputStream() throws IOException {
    return new LimitedStream(super.getInputStream());
  }

  /** The problem of a body that is too long. */
  static Problem tooLarge(long limit) {
    return Problem.of(
        Problem.Kind.TOO_LARGE, "The body may have " + limit + " bytes; this one has more.");
  }

  /** Counts what is read. */
  private final class LimitedStream extends ServletInputStream {
    private final ServletInputStream body;
    private long read;

    private LimitedStream(ServletInputStream body) {
      this.body = body;
    }

    @Override
    public int read() throws IOException {
      int next = body.read();
      count(next < 0 ? 0 : 1);
      return next;
    }

    @Override
    public int read(byte[] into, int offset, int length) throws IOException {
      int got = body.read(into, offset, length);
      count(Math.max(got, 0));
      return got;
    }

    private void count(int more) {
      read += more;
      if (read > limit) {
        throw tooLarge(limit);
      }
    }

    @Override
    public boolean isFinished() {
      return body.isFinished();
    }

    @Override
    public boolean isReady() {
      return body.isReady();
    }

    @Override
    public void setReadListener(ReadListener listener) {
      body.setReadListener(listener);
    }
  }
}
