package org.tidemark.http;

import jakarta.servlet.ReadListener;
import jakarta.servlet.ServletInputStream;
import jakarta.servlet.http.HttpServletRequest;
import jakarta.servlet.http.HttpServletRequestWrapper;
import java.io.EOFException;
import java.io.IOException;
import java.io.InputStream;
import java.util.zip.GZIPInputStream;
import java.util.zip.ZipException;
import org.tidemark.fhir.Problem;

/**
 * A request whose body may be read only up to a limit, also when its length is not told. A body
 * that is packed by gzip is unpacked here, and the limit is that of what comes out.
 */
public final class LimitedRequest extends HttpServletRequestWrapper {
  private static final String CODING = "Content-Encoding";
  private static final String GZIP = "gzip";

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
    ServletInputStream sent = super.getInputStream();
    if (!GZIP.equalsIgnoreCase(getHeader(CODING))) {
      return new LimitedStream(sent, sent);
    }
    try {
      return new LimitedStream(sent, new GZIPInputStream(new LimitedStream(sent, sent)));
    } catch (ZipException | EOFException notPacked) {
      throw notGzip();
    }
  }

  /** Whether the body is packed in another way than by gzip. */
  static boolean isPackedOtherwise(HttpServletRequest request) {
    String coding = request.getHeader(CODING);
    return coding != null && !GZIP.equalsIgnoreCase(coding) && !"identity".equalsIgnoreCase(coding);
  }

  private static Problem notGzip() {
    return Problem.of(Problem.Kind.MALFORMED, "The body is not packed by gzip as a whole.");
  }

  /** The problem of a body that is too long. */
  static Problem tooLarge(long limit) {
    return Problem.of(
        Problem.Kind.TOO_LARGE, "The body may have " + limit + " bytes; this one has more.");
  }

  /** Counts what is read. */
  private final class LimitedStream extends ServletInputStream {
    private final ServletInputStream sent;
    private final InputStream body;
    private long read;

    private LimitedStream(ServletInputStream sent, InputStream body) {
      this.sent = sent;
      this.body = body;
    }

    @Override
    public int read() throws IOException {
      byte[] one = new byte[1];
      return read(one, 0, 1) < 0 ? -1 : one[0] & 0xff;
    }

    @Override
    public int read(byte[] into, int offset, int length) throws IOException {
      try {
        int got = body.read(into, offset, length);
        count(Math.max(got, 0));
        return got;
      } catch (ZipException | EOFException cutOff) {
        throw notGzip();
      }
    }

    private void count(int more) {
      read += more;
      if (read > limit) {
        throw tooLarge(limit);
      }
    }

    @Override
    public boolean isFinished() {
      return sent.isFinished();
    }

    @Override
    public boolean isReady() {
      return sent.isReady();
    }

    @Override
    public void setReadListener(ReadListener listener) {
      sent.setReadListener(listener);
    }
  }
}
