using System.Net;
using System.Net.Http.Headers;

namespace Hindbeat.Bench.Tests;

/// <summary>Scripts, styles and fonts arrive whole, wherever the program was started from, and are not sent twice.</summary>
[Collection(OneBrowser.Name)]
public class AssetTests(BenchInABrowser bench)
{
    [Theory]
    [InlineData("_framework/blazor.web.js", "text/javascript")]
    [InlineData("study.js", "text/javascript")]
    [InlineData("bench.css", "text/css")]
    [InlineData("icon.svg", "image/svg+xml")]
    [InlineData("fonts/source-serif-4-latin-400-normal.woff2", "font/woff2")]
    [InlineData("fonts/SourceSerif4-OFL.txt", "text/plain")]
    public async Task Each_file_arrives_with_its_bytes_and_type(string path, string type)
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        using HttpResponseMessage answer = await client.GetAsync(path);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal(type, answer.Content.Headers.ContentType?.MediaType);
        Assert.True((await answer.Content.ReadAsByteArrayAsync()).Length > 100, $"{path} came nearly empty.");

        using var again = new HttpRequestMessage(HttpMethod.Get, path);
        again.Headers.IfNoneMatch.Add(answer.Headers.ETag ?? throw new InvalidOperationException("No entity tag came."));
        Assert.Equal(HttpStatusCode.NotModified, (await client.SendAsync(again)).StatusCode);
    }

    /// <summary>RIFF/WAVE (Microsoft and IBM, 1991): "RIFF", size, "WAVE"; a range is answered as RFC 9110 says.</summary>
    [Theory]
    [InlineData("original")]
    [InlineData("rebuild?swing=1&layback=1")]
    public async Task Sounds_arrive_as_wav_and_in_ranges(string which)
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        string path = $"sound/{bench.Whole.Id}/{which}";
        byte[] whole = await client.GetByteArrayAsync(path);
        Assert.Equal("RIFF"u8.ToArray(), whole[..4]);
        Assert.Equal("WAVE"u8.ToArray(), whole[8..12]);
        Assert.InRange(whole.Length / (4.0 * 44100), (bench.Whole.To - bench.Whole.From).Value - 1, (bench.Whole.To - bench.Whole.From).Value + 5);

        using var part = new HttpRequestMessage(HttpMethod.Get, path);
        part.Headers.Range = new RangeHeaderValue(1000, 1999);
        using HttpResponseMessage answer = await client.SendAsync(part);
        Assert.Equal(HttpStatusCode.PartialContent, answer.StatusCode);
        Assert.Equal(whole[1000..2000], await answer.Content.ReadAsByteArrayAsync());
    }
}
