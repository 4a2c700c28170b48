using Microsoft.AspNetCore.Http;

namespace Hindbeat.Bench.Guard;

/// <summary>Tells the browser that the page needs nothing from anywhere else and may not be framed or read by others.</summary>
internal sealed class SecurityHeaders(RequestDelegate next)
{
    public Task InvokeAsync(HttpContext context)
    {
        IHeaderDictionary headers = context.Response.Headers;
        // The socket is named beside 'self' because not every browser counts ws: as the page's own origin.
        headers.ContentSecurityPolicy =
            $"default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' data:; connect-src 'self' ws://{context.Request.Host.Value}; " +
            "base-uri 'self'; form-action 'self'; frame-ancestors 'none'";
        headers.XContentTypeOptions = "nosniff";
        // Not "no-referrer": under it a form of our own would be sent with the origin "null" (Fetch standard), which is refused.
        headers["Referrer-Policy"] = "same-origin";
        headers["Cross-Origin-Resource-Policy"] = "same-origin";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        headers["Permissions-Policy"] = "camera=(), microphone=(self), midi=(self), geolocation=()";
        return next(context);
    }
}
