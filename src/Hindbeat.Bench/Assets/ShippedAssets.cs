using System.Reflection;
using System.Security.Cryptography;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using Microsoft.Net.Http.Headers;

namespace Hindbeat.Bench.Assets;

/// <summary>
/// Scripts, styles and fonts, served out of the assembly itself. There is no folder to find, so the
/// page works from any working directory, from bin/ and after publishing alike.
/// </summary>
internal sealed class ShippedAssets
{
    private const string Root = "wwwroot/";
    private readonly Dictionary<string, Asset> _assets = [];

    public ShippedAssets()
    {
        Assembly assembly = typeof(ShippedAssets).Assembly;
        foreach (string name in assembly.GetManifestResourceNames())
        {
            if (!name.StartsWith(Root, StringComparison.Ordinal))
                continue;
            using Stream stream = assembly.GetManifestResourceStream(name)!;
            byte[] bytes = new byte[stream.Length];
            stream.ReadExactly(bytes);
            string hash = Convert.ToHexStringLower(SHA256.HashData(bytes))[..12];
            _assets.Add(name[Root.Length..].Replace('\\', '/'), new Asset(bytes, TypeOf(name), new EntityTagHeaderValue($"\"{hash}\"")));
        }
    }

    public void Map(IEndpointRouteBuilder app)
    {
        foreach ((string path, Asset asset) in _assets)
        {
            app.MapGet("/" + path, (HttpResponse response) =>
            {
                // Asked for again each time, answered 304 while unchanged: a new version is never hidden by an old copy.
                response.Headers.CacheControl = "no-cache";
                return TypedResults.Bytes(asset.Bytes, asset.Type, entityTag: asset.Tag);
            });
        }
    }

    private static string TypeOf(string name) => Path.GetExtension(name) switch
    {
        ".js" => "text/javascript",
        ".css" => "text/css",
        ".woff2" => "font/woff2",
        ".svg" => "image/svg+xml",
        ".txt" => "text/plain; charset=utf-8",
        string other => throw new InvalidOperationException($"No content type is known for '{other}' files."),
    };

    private sealed record Asset(byte[] Bytes, string Type, EntityTagHeaderValue Tag);
}
